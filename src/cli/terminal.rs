//! Writing to the terminal: a reader that has gone away is no fault, colour only where it shows.

use std::io::{ErrorKind, IsTerminal, Write};

use truerun::{Error, Result};

/// Writes text to standard output.
pub fn print(text: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Error::file("standard output", e)),
        _ => Ok(()),
    }
}

/// Writes text to standard error; there is nowhere to tell of a failure.
pub fn say(text: &str) {
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

/// Says in one line what went wrong.
pub fn complain(what: &str) {
    say(&format!("truerun: {}\n", what.replace('\n', " ")));
}

/// Whether colour codes may go to this stream (<https://no-color.org>).
pub fn colour(stream: &impl IsTerminal) -> bool {
    stream.is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}
