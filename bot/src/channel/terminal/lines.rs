//! Lines from a keyboard or a pipe, read on a thread of their own so that reminders need not wait for a key.

use std::io::{BufRead, Write};
use std::path::PathBuf;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::time::Duration;

use rustyline::error::ReadlineError;
use rustyline::{Config, DefaultEditor, ExternalPrinter};

/// What the reader of lines has to tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Typed {
    /// A line, or several where they were pasted at once.
    Line(String),
    /// The key that breaks off.
    Interrupted,
    /// Nothing more.
    End,
}

/// Lines on request, and a place to print to.
pub(super) struct Lines {
    prompts: Sender<String>,
    typed: Receiver<Typed>,
    print: Box<dyn FnMut(&str)>,
    asked: bool,
}

impl Lines {
    /// Lines from the keyboard, with a history kept in `history`. What is printed appears above the line being typed.
    pub(super) fn keyboard(history: PathBuf) -> anyhow::Result<Lines> {
        let config = Config::builder().auto_add_history(true).max_history_size(1000)?.build();
        let mut editor = DefaultEditor::with_config(config)?;
        // The first run has no history yet, and a spoilt one is worth no complaint.
        let _ = editor.load_history(&history);
        let mut printer = editor.create_external_printer()?;
        let (prompts, asked) = mpsc::channel::<String>();
        let (tell, typed) = mpsc::channel();
        std::thread::spawn(move || {
            for prompt in asked {
                let read = match editor.readline(&prompt) {
                    Ok(line) => Typed::Line(line),
                    Err(ReadlineError::Interrupted) => Typed::Interrupted,
                    Err(_) => Typed::End,
                };
                let _ = editor.append_history(&history);
                if tell.send(read).is_err() {
                    break;
                }
            }
        });
        let print = move |text: &str| {
            // A terminal that is gone shows nothing; the journal has it.
            let _ = printer.print(format!("{text}\n"));
        };
        Ok(Lines { prompts, typed, print: Box::new(print), asked: false })
    }

    /// Lines from `input`, without prompts; what is printed goes to `output`.
    pub(super) fn piped(mut input: impl BufRead + Send + 'static, mut output: impl Write + 'static) -> Lines {
        let (prompts, asked) = mpsc::channel::<String>();
        let (tell, typed) = mpsc::channel();
        std::thread::spawn(move || {
            for _ in asked {
                let mut line = Vec::new();
                // A pipe may hold any bytes; what is no UTF-8 is shown as such, not refused.
                let read = match input.read_until(b'\n', &mut line) {
                    Ok(0) | Err(_) => Typed::End,
                    Ok(_) => Typed::Line(String::from_utf8_lossy(&line).trim_end_matches(['\n', '\r']).to_string()),
                };
                if tell.send(read).is_err() {
                    break;
                }
            }
        });
        let print = move |text: &str| {
            // A reader that went away is no reason to stop recording.
            let _ = writeln!(output, "{text}").and_then(|()| output.flush());
        };
        Lines { prompts, typed, print: Box::new(print), asked: false }
    }

    /// The next line, or `None` if none came within `patience`. The prompt is shown once for each line.
    pub(super) fn next(&mut self, prompt: &str, patience: Option<Duration>) -> Option<Typed> {
        if !self.asked {
            if self.prompts.send(prompt.to_string()).is_err() {
                return Some(Typed::End);
            }
            self.asked = true;
        }
        let typed = match patience {
            None => self.typed.recv().unwrap_or(Typed::End),
            Some(patience) => match self.typed.recv_timeout(patience) {
                Ok(typed) => typed,
                Err(RecvTimeoutError::Timeout) => return None,
                Err(RecvTimeoutError::Disconnected) => Typed::End,
            },
        };
        self.asked = false;
        Some(typed)
    }

    /// Waits for the line that is being typed, because a keyboard that is left in the middle of one stays in a state in
    /// which the shell cannot be used. `words` ask for it.
    pub(super) fn settle(&mut self, words: &str) {
        if self.asked {
            self.print(words);
            // Either way nobody reads the keyboard any more.
            let _ = self.typed.recv();
            self.asked = false;
        }
    }

    /// Prints lines.
    pub(super) fn print(&mut self, text: &str) {
        (self.print)(text);
    }
}
