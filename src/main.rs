//! Parse, one library call, exit status.

mod cli;

fn main() -> std::process::ExitCode {
    cli::main()
}
