//! The command `leadsman`.

use std::process::ExitCode;

fn main() -> ExitCode {
    leadsman::command()
}
