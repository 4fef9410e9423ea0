//! The command line: what can be called, with which words, and what comes back.

#[cfg(test)]
mod tests;

use std::ffi::OsString;
use std::io::{self, BufRead, BufReader, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::Context;
use clap::{Parser, Subcommand};
use holdfast_core::settings::Settings;

use crate::channel::{Desk, Lists, terminal};
use crate::clock::ManualClock;
use crate::rehearse::{self, Enrolment};
use crate::settings;

/// What the command line calls. The rooms of the house behind it know nothing of arguments.
pub trait Rooms {
    /// A house as it is served: on disk, by the wall clock, or for a rehearsal.
    type House: Desk;

    /// Opens the house whose data are in `folder`, which is made where it is not there.
    ///
    /// # Errors
    /// Where the store does not open.
    fn open(&self, folder: &Path, settings: Settings) -> anyhow::Result<Self::House>;

    /// Opens a throw-away house by a virtual clock, with these people enrolled.
    ///
    /// # Errors
    /// Where no folder can be made for it.
    fn rehearse(&self, settings: Settings, clock: ManualClock, people: &[Enrolment]) -> anyhow::Result<Self::House>;

    /// The readers of packing lists.
    fn lists(&self) -> Lists;

    /// Reads threads as JSON lines and writes their acts.
    ///
    /// # Errors
    /// Where the input cannot be read, or the output written.
    fn read(&self, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()>;

    /// Answers questions of chemistry and trade arithmetic, JSON lines in and out.
    ///
    /// # Errors
    /// Where the input cannot be read, or the output written.
    fn reckon(&self, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()>;

    /// Writes the quantities that [`Rooms::reckon`] knows.
    ///
    /// # Errors
    /// Where the output cannot be written.
    fn quantities(&self, output: &mut dyn Write) -> anyhow::Result<()>;

    /// Writes the words that the house in `folder` did not understand, and the messages that it asked about.
    ///
    /// # Errors
    /// Where there is no house, its journal does not hold, or the output cannot be written.
    fn unread(&self, folder: &Path, settings: &Settings, output: &mut dyn Write) -> anyhow::Result<()>;

    /// Writes what each packing list says, as JSON lines. False where a file could not be read.
    ///
    /// # Errors
    /// Where the output cannot be written.
    fn packing(&self, files: &[PathBuf], output: &mut dyn Write) -> anyhow::Result<bool>;

    /// Verifies the house in `folder` and says what was found. False where anything does not hold.
    ///
    /// # Errors
    /// Where there is no house to verify.
    fn check(&self, folder: &Path, output: &mut dyn Write) -> anyhow::Result<bool>;

    /// Writes the journal of `folder` as JSON lines.
    ///
    /// # Errors
    /// Where it cannot be read or written.
    fn export(&self, folder: &Path, output: &mut dyn Write) -> anyhow::Result<()>;

    /// Makes the house in `folder` of an exported journal, and says what was parked.
    ///
    /// # Errors
    /// Where there is a house already, or the journal does not hold.
    fn import(&self, folder: &Path, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()>;
}

/// Chat assistant of a crew that receives live ornamental fish.
/// Without a command it opens a chat in this terminal.
#[derive(Debug, Parser)]
#[command(name = "holdfast", version, verbatim_doc_comment, disable_help_subcommand = true)]
struct Arguments {
    /// Folder of the journal and what is made of it
    #[arg(long, global = true, value_name = "DIR", default_value = "./holdfast-data")]
    data: PathBuf,
    /// Settings file; without it ./holdfast.toml, if it is there
    #[arg(long, global = true, value_name = "FILE")]
    settings: Option<PathBuf>,
    #[command(subcommand)]
    call: Option<Call>,
}

#[derive(Debug, Subcommand)]
enum Call {
    /// Play a scripted night on a virtual clock and compare the replies written in it
    Rehearse {
        /// The script; without it, the built-in sample night
        script: Option<PathBuf>,
        /// Write the replies that were found into the script
        #[arg(long, requires = "script")]
        write: bool,
    },
    /// Read threads of messages (JSON lines on standard input) and print their acts
    Read {
        /// Print the words that the house in --data did not understand, and the messages that it asked about
        #[arg(long)]
        unread: bool,
    },
    /// Answer questions of chemistry and trade arithmetic (JSON lines on standard input)
    Reckon {
        /// Print the quantities that can be asked for, with their inputs and units
        #[arg(long)]
        list: bool,
    },
    /// Print what is read in packing lists, as JSON lines
    Packing {
        /// The files: .xlsx .xls .ods .csv .tsv .txt
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
    },
    /// Verify the journal, the store made of it and the books
    Check,
    /// Write the journal as JSON lines
    Export {
        /// Where to; without it, to standard output
        file: Option<PathBuf>,
    },
    /// Make a new house of an exported journal
    Import {
        /// The exported journal; - for standard input
        file: PathBuf,
    },
}

/// How a call ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// As it should.
    Well,
    /// It ran to its end and found something wrong.
    Badly,
    /// The arguments could not be read.
    Misread,
}

impl From<Ended> for ExitCode {
    fn from(ended: Ended) -> ExitCode {
        ExitCode::from(match ended {
            Ended::Well => 0,
            Ended::Badly => 1,
            Ended::Misread => 2,
        })
    }
}

/// Runs the program as it was called: the whole of `main`.
pub fn main(rooms: &impl Rooms) -> ExitCode {
    let filter = tracing_subscriber::EnvFilter::try_from_default_env();
    let filter = filter.unwrap_or_else(|_| tracing_subscriber::EnvFilter::new("error"));
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(io::stderr).init();
    let mut input = BufReader::new(io::stdin());
    let mut output = BufWriter::new(io::stdout());
    let ended = run(rooms, std::env::args_os(), &mut input, &mut output, &mut io::stderr());
    ended.into()
}

/// Runs one call. What is asked for goes to `output`, what went wrong to `errors`, in words for people.
pub fn run(
    rooms: &impl Rooms,
    arguments: impl IntoIterator<Item = OsString>,
    input: &mut dyn BufRead,
    output: &mut dyn Write,
    errors: &mut dyn Write,
) -> Ended {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            let to: &mut dyn Write = if error.use_stderr() { errors } else { output };
            // There is nobody left to tell where this cannot be written.
            let _ = write!(to, "{error}").and_then(|()| to.flush());
            return if error.use_stderr() { Ended::Misread } else { Ended::Well };
        }
    };
    let ended = call(rooms, arguments, input, output, errors).and_then(|ended| Ok(output.flush().map(|()| ended)?));
    ended.unwrap_or_else(|error| {
        // Whoever reads the output has seen enough: `holdfast packing … | head`.
        if error.chain().any(is_closed_pipe) {
            return Ended::Well;
        }
        let _ = writeln!(errors, "holdfast: {error:#}");
        Ended::Badly
    })
}

fn is_closed_pipe(cause: &(dyn std::error::Error + 'static)) -> bool {
    cause.downcast_ref::<io::Error>().is_some_and(|error| error.kind() == io::ErrorKind::BrokenPipe)
}

fn call(
    rooms: &impl Rooms,
    arguments: Arguments,
    input: &mut dyn BufRead,
    output: &mut dyn Write,
    errors: &mut dyn Write,
) -> anyhow::Result<Ended> {
    let data = arguments.data;
    let held = match arguments.call {
        None => {
            let settings = settings::load(arguments.settings.as_deref())?;
            let limits = settings.limits.clone();
            let mut house = rooms.open(&data, settings)?;
            terminal::chat(&mut house, &data, rooms.lists(), &limits)?;
            true
        }
        Some(Call::Rehearse { script, write }) => rehearse_script(rooms, script.as_deref(), write, output, errors)?,
        Some(Call::Read { unread: true }) => {
            let settings = settings::load(arguments.settings.as_deref())?;
            rooms.unread(&data, &settings, output)?;
            true
        }
        Some(Call::Reckon { list: true }) => {
            rooms.quantities(output)?;
            true
        }
        Some(Call::Reckon { list: false }) => {
            if io::stdin().is_terminal() {
                writeln!(errors, "Reading questions from the keyboard, one JSON object a line; Ctrl-D ends them.")?;
            }
            rooms.reckon(input, output)?;
            true
        }
        Some(Call::Read { unread: false }) => {
            if io::stdin().is_terminal() {
                writeln!(errors, "Reading threads from the keyboard, one JSON object a line; Ctrl-D ends them.")?;
            }
            rooms.read(input, output)?;
            true
        }
        Some(Call::Packing { files }) => rooms.packing(&files, output)?,
        Some(Call::Check) => rooms.check(&data, output)?,
        Some(Call::Export { file: None }) => rooms.export(&data, output).map(|()| true)?,
        Some(Call::Export { file: Some(file) }) => {
            let made = std::fs::File::create_new(&file);
            let made = made.with_context(|| format!("{} cannot be made", file.display()))?;
            let mut made = BufWriter::new(made);
            rooms.export(&data, &mut made)?;
            made.into_inner().map_err(io::IntoInnerError::into_error)?.sync_all()?;
            true
        }
        Some(Call::Import { file }) if file == Path::new("-") => rooms.import(&data, input, output).map(|()| true)?,
        Some(Call::Import { file }) => {
            let opened = std::fs::File::open(&file);
            let opened = opened.with_context(|| format!("{} cannot be read", file.display()))?;
            rooms.import(&data, &mut BufReader::new(opened), output)?;
            true
        }
    };
    Ok(if held { Ended::Well } else { Ended::Badly })
}

/// Plays a script, prints the chat, and says where it is not as written. With `write` the script is written anew.
fn rehearse_script(
    rooms: &impl Rooms,
    path: Option<&Path>,
    write: bool,
    output: &mut dyn Write,
    errors: &mut dyn Write,
) -> anyhow::Result<bool> {
    let (name, text) = match path {
        None => ("the sample night".to_string(), rehearse::SAMPLE_NIGHT.to_string()),
        Some(path) => {
            let text = std::fs::read_to_string(path);
            (path.display().to_string(), text.with_context(|| format!("{} cannot be read", path.display()))?)
        }
    };
    let folder = path.and_then(Path::parent).unwrap_or(Path::new(""));
    let script = rehearse::parse(&text).with_context(|| name.clone())?;
    let open = |settings, clock, people: &[Enrolment]| rooms.rehearse(settings, clock, people);
    let night = rehearse::play(&script, folder, rooms.lists(), open).with_context(|| name.clone())?;
    write!(output, "{}", night.chat())?;
    output.flush()?;
    if let Some(broken) = &night.broken {
        writeln!(errors, "{name}, {broken:#}")?;
        return Ok(false);
    }
    if let (true, Some(path)) = (write, path) {
        let written = std::fs::write(path, night.script());
        written.with_context(|| format!("{} cannot be written", path.display()))?;
        return Ok(true);
    }
    for difference in &night.differences {
        write!(errors, "{name}, {difference}")?;
    }
    Ok(night.differences.is_empty())
}
