//! A file's bytes without byte-order marks and the NUL bytes that a power cut or UTF-16 leaves.

use std::io::Read;

/// The plain bytes of `source`.
pub struct Plain<R> {
    source: R,
    started: bool,
}

impl<R: Read> Plain<R> {
    /// Reads through to `source`.
    pub fn new(source: R) -> Self {
        Plain {
            source,
            started: false,
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
                if into[i] != 0 {
                    into[kept] = into[i];
                    kept += 1;
                }
            }
            if kept > 0 {
                return Ok(kept);
            }
        }
    }
}
