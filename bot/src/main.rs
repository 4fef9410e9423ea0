//! The binary `holdfast`.

use std::process::ExitCode;

fn main() -> ExitCode {
    holdfast_bot::cli::main(&holdfast_bot::rooms::Built)
}
