//! The progress bar, on standard error and only on a terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar for a run over frames.
pub struct Progress(ProgressBar);

impl Progress {
    /// A bar; hidden where `quiet`, and by itself where standard error is no terminal.
    pub fn new(quiet: bool) -> Self {
        let target = match quiet {
            true => ProgressDrawTarget::hidden(),
            false => ProgressDrawTarget::stderr_with_hz(8),
        };
        Progress(ProgressBar::with_draw_target(None, target))
    }

    /// Shows that `done` frames are read, of `total` where that is known.
    pub fn show(&self, done: usize, total: Option<usize>) {
        if let Some(total) = total.filter(|t| self.0.length() != Some(*t as u64)) {
            self.0.set_length(total as u64);
            if let Ok(style) =
                ProgressStyle::with_template("  {bar:40} {pos}/{len} frames, {eta} left")
            {
                self.0.set_style(style);
            }
        }
        self.0.set_position(done as u64);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
