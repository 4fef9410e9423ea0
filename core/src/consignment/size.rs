//! Sizes as lists state them: "5-6cm", "2\"", "1 1/4 in", "M".

/// A size as it was understood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// A length, cm, the middle of a range.
    Length(f64),
    /// A number without a unit; the trade writes cm and inches.
    Bare(f64),
    /// A code, which each species has its own lengths for.
    Code(Code),
}

/// A size code. The order is from small to large.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Code {
    /// S.
    Small,
    /// SM, S/M.
    SmallMedium,
    /// M.
    Medium,
    /// ML, M/L.
    MediumLarge,
    /// L.
    Large,
    /// XL.
    ExtraLarge,
    /// Jumbo, show, adult.
    Show,
}

/// cm in an inch, by definition.
const INCH: f64 = 2.54;

impl Size {
    /// Reads a size as typed; `None` where nothing in it is one.
    ///
    /// ```
    /// use holdfast_core::consignment::{Code, Size};
    /// assert_eq!(Size::read("5-6cm"), Some(Size::Length(5.5)));
    /// assert_eq!(Size::read("2\""), Some(Size::Length(5.08)));
    /// assert_eq!(Size::read("M"), Some(Size::Code(Code::Medium)));
    /// ```
    pub fn read(text: &str) -> Option<Size> {
        let lower = spelled(&text.to_lowercase());
        let words: Vec<&str> = lower.split_whitespace().collect();
        let has = |units: &[&str]| words.iter().any(|word| units.contains(word));
        let inches = has(&["in", "inch", "inches", "\""]);
        let numbers = numbers(&words, inches);
        let middle = (!numbers.is_empty()).then(|| numbers.iter().sum::<f64>() / numbers.len() as f64);
        match middle.filter(|middle| *middle > 0.0) {
            Some(middle) if has(&["cm", "cms"]) => Some(Size::Length(middle)),
            Some(middle) if has(&["mm"]) => Some(Size::Length(middle / 10.0)),
            Some(middle) if inches => Some(Size::Length(middle * INCH)),
            Some(middle) if code(&words).is_none() => Some(Size::Bare(middle)),
            _ => code(&words).map(Size::Code),
        }
    }
}

/// Numbers, letters and signs apart from each other; decimal commas as points.
fn spelled(text: &str) -> String {
    let text = text.replace("''", "\"").replace(['”', '“', '″'], "\"");
    let text = [("½", " 1/2"), ("¼", " 1/4"), ("¾", " 3/4")]
        .iter()
        .fold(text, |text, (sign, words)| text.replace(sign, words));
    let letters: Vec<char> = text.chars().collect();
    let mut apart = String::new();
    let mut last = ' ';
    for (nth, &letter) in letters.iter().enumerate() {
        let digit_after = letters.get(nth + 1).is_some_and(char::is_ascii_digit);
        let letter = match letter {
            '.' | ',' if last.is_ascii_digit() && digit_after => '.',
            '/' if last.is_ascii_digit() && digit_after => '/',
            '"' => '"',
            letter if letter.is_ascii_digit() || letter.is_alphabetic() => letter,
            _ => ' ',
        };
        let kind = |c: char| if c.is_ascii_digit() || c == '.' || c == '/' { 1 } else { 2 + i32::from(c == '"') };
        if kind(letter) != kind(last) {
            apart.push(' ');
        }
        apart.push(letter);
        last = letter;
    }
    apart
}

/// The numbers of a size. In inches "3/4" is a fraction and "1 1/4" one number; in cm "5/6" is from 5 to 6.
fn numbers(words: &[&str], inches: bool) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::new();
    let mut whole_before = false;
    for word in words {
        if let Ok(number) = word.parse::<f64>() {
            found.push(number);
            whole_before = number.fract() == 0.0;
            continue;
        }
        let parts: Option<Vec<f64>> = word.split('/').map(|part| part.parse().ok()).collect();
        if let Some([above, below]) = parts.as_deref()
            && *below > 0.0
        {
            let fraction = inches && above < below && [2.0, 4.0, 8.0, 16.0].contains(below);
            match (fraction, found.last_mut()) {
                (true, Some(whole)) if whole_before => *whole += above / below,
                (true, _) => found.push(above / below),
                (false, _) => found.extend([*above, *below]),
            }
        }
        whole_before = false;
    }
    found
}

fn code(words: &[&str]) -> Option<Code> {
    let one = |word: &str| {
        Some(match word {
            "xs" | "s" | "small" => Code::Small,
            "sm" => Code::SmallMedium,
            "m" | "med" | "medium" | "reg" | "regular" => Code::Medium,
            "ml" => Code::MediumLarge,
            "l" | "lg" | "lge" | "large" => Code::Large,
            "xl" | "xxl" => Code::ExtraLarge,
            "jumbo" | "show" | "adult" => Code::Show,
            _ => return None,
        })
    };
    let codes: Vec<Code> = words.iter().filter_map(|word| one(word)).collect();
    match codes.as_slice() {
        [Code::Small, Code::Medium] => Some(Code::SmallMedium),
        [Code::Medium, Code::Large] => Some(Code::MediumLarge),
        codes => codes.first().copied(),
    }
}

impl Code {
    /// About how long fish of the code are, cm, by the adult size of the species. A choice: lists give each species lengths
    /// of its own, of which few are published; a code is a part of the adult size, and of large species a juvenile.
    pub fn length(self, adult_cm: f64) -> f64 {
        let (part, most) = match self {
            Code::Small => (0.35, 4.0),
            Code::SmallMedium => (0.42, 5.0),
            Code::Medium => (0.5, 6.0),
            Code::MediumLarge => (0.6, 8.0),
            Code::Large => (0.7, 10.0),
            Code::ExtraLarge => (0.85, 15.0),
            Code::Show => (1.0, 20.0),
        };
        f64::min(part * adult_cm, most)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_with_their_unit() {
        for (text, cm) in [
            ("5-6cm", 5.5),
            ("5 - 6 cm", 5.5),
            ("2,5cm", 2.5),
            ("3/4 cm", 3.5),
            ("25mm", 2.5),
            ("2\"", 5.08),
            ("1.5-2\"", 4.445),
            ("1½''", 3.81),
            ("1 1/4 in", 3.175),
            ("1/2-3/4 in", 1.5875),
            ("M (3-4cm)", 3.5),
        ] {
            let Some(Size::Length(read)) = Size::read(text) else { panic!("{text}: {:?}", Size::read(text)) };
            assert!((read - cm).abs() < 1e-9, "{text}: {read}");
        }
    }

    #[test]
    fn a_number_alone_has_no_unit() {
        assert_eq!(Size::read("1.5"), Some(Size::Bare(1.5)));
    }

    #[test]
    fn codes_are_read_in_any_spelling() {
        for (text, code) in [
            ("S", Code::Small),
            ("S/M", Code::SmallMedium),
            ("med", Code::Medium),
            ("M-L", Code::MediumLarge),
            ("Large", Code::Large),
            ("XL", Code::ExtraLarge),
            ("Jumbo", Code::Show),
        ] {
            assert_eq!(Size::read(text), Some(Size::Code(code)), "{text}");
        }
        assert_eq!(Size::read("pair"), None);
        assert_eq!(Size::read(""), None);
    }

    #[test]
    fn a_larger_code_is_never_a_smaller_fish() {
        let codes = [Code::Small, Code::SmallMedium, Code::Medium, Code::MediumLarge, Code::Large, Code::ExtraLarge];
        for adult in [3.0, 8.0, 15.0, 60.0] {
            let lengths = codes.map(|code| code.length(adult));
            assert!(lengths.is_sorted() && lengths[0] > 0.5, "{lengths:?}");
        }
    }
}
