//! "7.1 38 clown loach 2 dead": a number and a fish beside a box are the living. The reader wants a word of state for
//! that, so the message is handed to it again with "alive" where a person leaves it out.

/// A message that begins with a number of named fish in a box or bag.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct NamedCount {
    /// The box, where the message names one.
    pub number: Option<u32>,
    /// Whether the box is said so, by "box" or a bag, rather than by a bare number.
    pub plain: bool,
    /// The fish, in lower case.
    pub fish: String,
    /// The same message with the living called so.
    pub words: String,
}

/// Words of a fish's name at most.
const NAME_WORDS: usize = 4;

/// Words that say how the counted fish are.
const STATES: [&str; 8] = ["alive", "living", "live", "ok", "okay", "good", "sound", "fine"];

/// Words that say what else became of them: then they are no count of the living.
const OTHER_STATES: [&str; 12] =
    ["dead", "doa", "daa", "weak", "short", "missing", "extra", "culled", "more", "revived", "shipped", "into"];

/// Reads the beginning of a message; `None` where it is anything else. Whether the words are a fish is for the caller.
pub(super) fn named_count(text: &str) -> Option<NamedCount> {
    let tokens: Vec<&str> = text.split_whitespace().collect();
    let (number, rest) = place(&tokens);
    let (count, rest) = rest.split_first()?;
    count.parse::<u32>().ok()?;
    let mut name: Vec<String> = Vec::new();
    let mut used = 0;
    for word in rest.iter().take(NAME_WORDS + 1) {
        let bare = word.trim_end_matches([',', ';', '.']).to_lowercase();
        let letters = bare.chars().all(|letter| letter.is_alphabetic() || "-'’".contains(letter));
        if bare.is_empty() || !letters || ["and", "&"].contains(&bare.as_str()) {
            break;
        }
        used += 1;
        name.push(bare.clone());
        if bare.len() < word.len() {
            break;
        }
    }
    let after = rest.get(used..)?;
    let called = name.last().is_some_and(|word| STATES.contains(&word.as_str()));
    if called {
        name.pop();
    }
    let mut next = after.iter().skip_while(|word| ["and", "&", "+"].contains(word));
    let counts_on = match (next.next(), next.next()) {
        (None, _) => number.is_some(),
        (Some(count), Some(state)) => count.parse::<u32>().is_ok() && state.chars().all(char::is_alphabetic),
        (Some(_), None) => false,
    };
    let other = name.iter().any(|word| OTHER_STATES.contains(&word.as_str()));
    if name.is_empty() || name.len() > NAME_WORDS || !counts_on || other {
        return None;
    }
    let before = &tokens[..tokens.len() - rest.len()];
    let fish = name.join(" ");
    let words = [before.join(" "), fish.clone(), "alive".to_owned(), after.join(" ")].join(" ").trim_end().to_owned();
    let plain = before.len() > 1 || before.first().is_some_and(|word| word.contains('.'));
    Some(NamedCount { number, plain, fish, words: if called { text.to_owned() } else { words } })
}

/// The box at the beginning, and what follows it.
fn place<'a, 'b>(tokens: &'a [&'b str]) -> (Option<u32>, &'a [&'b str]) {
    let at = match tokens.first() {
        Some(word) if word.eq_ignore_ascii_case("box") => 1,
        _ => 0,
    };
    let Some(word) = tokens.get(at).map(|word| word.trim_end_matches([',', ':'])) else { return (None, tokens) };
    let (number, bag) = word.split_once('.').map_or((word, None), |(number, bag)| (number, Some(bag)));
    let number = number.parse::<u32>().ok().filter(|_| bag.is_none_or(|bag| bag.parse::<u32>().is_ok()));
    let counted = tokens.get(at + 1).is_some_and(|next| next.parse::<u32>().is_ok());
    match number.filter(|_| counted) {
        Some(number) => (Some(number), &tokens[at + 1..]),
        None => (None, tokens),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_and_a_fish_in_a_box_are_the_living() {
        for (text, fish, words) in [
            ("7.1 38 clown loach 2 dead", "clown loach", "7.1 38 clown loach alive 2 dead"),
            ("7.1: 38 Clown Loach, 2 doa", "clown loach", "7.1: 38 clown loach alive 2 doa"),
            ("8 104 neon tetra", "neon tetra", "8 104 neon tetra alive"),
            ("box 8 104 neon tetra", "neon tetra", "box 8 104 neon tetra alive"),
            ("38 clown loach 2 dead", "clown loach", "38 clown loach alive 2 dead"),
            ("7.1 38 clown loach ok 2 dead", "clown loach", "7.1 38 clown loach ok 2 dead"),
            ("7.1 38 clown loach and 2 dead", "clown loach", "7.1 38 clown loach alive and 2 dead"),
        ] {
            let found = named_count(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!((found.fish.as_str(), found.words.as_str()), (fish, words), "{text}");
        }
    }

    #[test]
    fn other_messages_are_left_to_the_reader() {
        for text in [
            "7.1 38 ok 2 dead",
            "38 clown loach",
            "7.1 2 dead",
            "40 neons for tank town",
            "7.1 into A3",
            "12 13 14 straight thru to reef",
            "A1 ph 7.2, ammonia 0.5",
            "8 done",
        ] {
            assert_eq!(named_count(text), None, "{text}");
        }
    }
}
