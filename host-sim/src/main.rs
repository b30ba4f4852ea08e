//! The command `hysteron`.

use std::process::ExitCode;

fn main() -> ExitCode {
    hysteron::cli::main()
}
