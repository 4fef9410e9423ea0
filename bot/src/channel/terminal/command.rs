//! What a line typed at the terminal asks for.

/// One line, read. Messages are what has no slash in front.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Command {
    /// A message.
    Say(String),
    /// What can be typed.
    Help,
    /// Leave.
    Quit,
    /// Speak as somebody; as nobody named: list the people.
    As(Option<String>),
    /// Send a packing list.
    File(String),
    /// Send a photo.
    Photo { path: String, caption: String },
    /// Several lines follow.
    Paste,
    /// Change the last message.
    Edit(String),
    /// Show the last lines of the assistant.
    Lines,
    /// Reply to a line, counted back from 1.
    Reply { line: usize, text: String },
    /// Press a button by number or label.
    Button(String),
    /// A command without what it needs: how it is typed.
    Usage(&'static str),
    /// No such command.
    Unknown(String),
}

/// Reads one line, which may hold several where it was pasted.
pub(super) fn read(line: &str) -> Command {
    let line = line.trim();
    if !line.starts_with('/') {
        return Command::Say(line.to_string());
    }
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let given = |usage, command: fn(String) -> Command| match rest {
        "" => Command::Usage(usage),
        rest => command(rest.to_string()),
    };
    match word {
        "/help" => Command::Help,
        "/quit" => Command::Quit,
        "/paste" => Command::Paste,
        "/lines" => Command::Lines,
        "/as" => Command::As((!rest.is_empty()).then(|| rest.to_string())),
        "/file" => given("/file PATH", |rest| Command::File(path(&rest).0)),
        "/photo" => given("/photo PATH WORDS", |rest| {
            let (path, caption) = path_and_words(&rest);
            Command::Photo { path, caption }
        }),
        "/edit" => given("/edit TEXT", Command::Edit),
        "/button" => given("/button N", Command::Button),
        "/reply" => {
            let split = rest.split_once(char::is_whitespace);
            let reply = split.and_then(|(line, text)| Some((line.parse().ok()?, text.trim().to_string())));
            match reply {
                Some((line, text)) => Command::Reply { line, text },
                None => Command::Usage("/reply N TEXT"),
            }
        }
        _ => Command::Unknown(word.to_string()),
    }
}

/// A path as shells and file managers hand it over: bare, quoted, or with blanks escaped. The second half is the rest.
fn path(text: &str) -> (String, &str) {
    for quote in ['"', '\''] {
        if let Some((path, rest)) = text.strip_prefix(quote).and_then(|text| text.split_once(quote)) {
            return (path.to_string(), rest.trim());
        }
    }
    (text.replace("\\ ", " "), "")
}

fn path_and_words(text: &str) -> (String, String) {
    if text.starts_with(['"', '\'']) {
        let (path, words) = path(text);
        return (path, words.to_string());
    }
    let mut escaped = false;
    let end = text.find(|letter: char| {
        let end = letter.is_whitespace() && !escaped;
        escaped = letter == '\\';
        end
    });
    let (path_text, words) = text.split_at(end.unwrap_or(text.len()));
    (path_text.replace("\\ ", " "), words.trim().to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_slash_is_a_message() {
        assert_eq!(read(" 7/2 36 ok "), Command::Say("7/2 36 ok".to_string()));
        assert_eq!(read(""), Command::Say(String::new()));
    }

    #[test]
    fn each_command_takes_what_it_needs_or_says_how_it_is_typed() {
        assert_eq!(read("/help"), Command::Help);
        assert_eq!(read("/as"), Command::As(None));
        assert_eq!(read("/as Reef & River"), Command::As(Some("Reef & River".to_string())));
        assert_eq!(read("/edit"), Command::Usage("/edit TEXT"));
        assert_eq!(read("/edit 7.2 35 ok"), Command::Edit("7.2 35 ok".to_string()));
        assert_eq!(read("/reply 2 4 dead"), Command::Reply { line: 2, text: "4 dead".to_string() });
        assert_eq!(read("/reply ok"), Command::Usage("/reply N TEXT"));
        assert_eq!(read("/reply ok then"), Command::Usage("/reply N TEXT"));
        assert_eq!(read("/button as listed"), Command::Button("as listed".to_string()));
        assert_eq!(read("/ediz x"), Command::Unknown("/ediz".to_string()));
    }

    #[test]
    fn a_path_may_be_bare_quoted_or_escaped() {
        let photo = |path: &str, caption: &str| Command::Photo { path: path.to_string(), caption: caption.to_string() };
        assert_eq!(read("/file my list.xlsx"), Command::File("my list.xlsx".to_string()));
        assert_eq!(read("/file 'my list.xlsx'"), Command::File("my list.xlsx".to_string()));
        assert_eq!(read("/file my\\ list.xlsx"), Command::File("my list.xlsx".to_string()));
        assert_eq!(read("/photo a.jpg box 7 crushed"), photo("a.jpg", "box 7 crushed"));
        assert_eq!(read("/photo \"a b.jpg\" box 7"), photo("a b.jpg", "box 7"));
        assert_eq!(read("/photo a\\ b.jpg box 7"), photo("a b.jpg", "box 7"));
        assert_eq!(read("/photo é.jpg"), photo("é.jpg", ""));
    }
}
