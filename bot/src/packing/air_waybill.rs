//! The number of the air waybill.

use std::sync::LazyLock;

use holdfast_core::say::packing as say;
use regex::Regex;

use super::clean::{fold, shorten};
use super::labels::{Labels, Scope, place};
use super::sheet::Cell;

static AWB: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"(?:^|[^\d])(\d{3})[-\s]*(\d{4})[-\s]*(\d{4})(?:[^\d]|$)").expect("a fixed pattern"));

pub(super) fn awb(scope: &Scope<'_>, row: u32, value: Option<Cell>, labels: &mut Labels) {
    let Some(cell) = value else { return };
    let text = cell.text();
    let folded = fold(&text);
    if folded.bytes().filter(u8::is_ascii_digit).count() < 7 {
        return;
    }
    let place = place(scope, row);
    let (number, question) = match AWB.captures(&folded) {
        Some(found) => {
            let number = format!("{}-{}{}", &found[1], &found[2], &found[3]);
            if check_digit_fits(&number) {
                (number, None)
            } else {
                let typed = found
                    .get(0)
                    .map_or("", |typed| typed.as_str())
                    .trim_matches(|character: char| !character.is_ascii_digit())
                    .to_owned();
                let question = say::awb_check_digit(&place, &typed);
                (typed, Some(question))
            }
        }
        None => (shorten(&text, 40), Some(say::awb_form(&place, &shorten(&text, 40)))),
    };
    match &labels.awb {
        None => {
            labels.awb = Some(number);
            labels.questions.extend(question);
        }
        Some(first) if *first != number => labels.questions.push(say::two_awbs(first, &number)),
        Some(_) => {}
    }
}

/// The last digit of the serial is the other seven modulo seven (IATA Resolution 600a).
fn check_digit_fits(number: &str) -> bool {
    let serial: Option<(u32, u32)> = number
        .get(4..11)
        .and_then(|serial| serial.parse().ok())
        .zip(number.get(11..12).and_then(|digit| digit.parse().ok()));
    serial.is_some_and(|(serial, digit)| serial % 7 == digit)
}

/// A number that has the form of an airway bill and a check digit that fits, where no label says otherwise.
pub(super) fn unlabelled_awb(text: &str) -> Option<String> {
    static STRICT: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"(?:^|[^\d+])(\d{3})-(\d{4}) ?(\d{4})(?:[^\d-]|$)").expect("a fixed pattern"));
    let folded = fold(text);
    if ["tel", "phone", "fax", "mobile", "whatsapp", "hp"].iter().any(|word| folded.contains(word)) {
        return None;
    }
    let found = STRICT.captures(&folded)?;
    let number = format!("{}-{}{}", &found[1], &found[2], &found[3]);
    check_digit_fits(&number).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_digit_is_the_serial_modulo_seven() {
        assert!(check_digit_fits("900-44712080"));
        assert!(!check_digit_fits("900-44712081"));
    }
}
