//! A file's bytes without byte-order marks and the NUL bytes that a power cut or UTF-16 leaves, with
//! one kind of line end (the CSV reader's line numbers are one too low after CR LF).

use std::io::Read;

/// The plain bytes of `source`.
pub struct Plain<R> {
    source: R,
    started: bool,
    after_cr: bool,
}

impl<R: Read> Plain<R> {
    /// Reads through to `source`.
    pub fn new(source: R) -> Self {
        Plain {
            source,
            started: false,
            after_cr: false,
        }
    }
}

impl<R: Read> Read for Plain<R> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        loop {
            let got = self.source.read(into)?;
            if got == 0 {
                return Ok(0);
            }
            let first = !std::mem::replace(&mut self.started, true);
            let mark = match (first, &into[..got]) {
                (true, [0xEF, 0xBB, 0xBF, ..]) => 3,
                (true, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]) => 2,
                _ => 0,
            };
            let mut kept = 0;
            for i in mark..got {
                let byte = into[i];
                let second_half = byte == b'\n' && self.after_cr;
                if byte == 0 || second_half {
                    self.after_cr &= byte == 0;
                    continue;
                }
                self.after_cr = byte == b'\r';
                into[kept] = if self.after_cr { b'\n' } else { byte };
                kept += 1;
            }
            if kept > 0 {
                return Ok(kept);
            }
        }
    }
}
