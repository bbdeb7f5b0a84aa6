//! When the sound of an MP4 or MOV clip begins on the clip's own clock.
//!
//! An AAC encoder puts some samples of silence first (1024 in many, 21.3 ms at 48 kHz), and the file says
//! by an *edit list* which sample is heard first and after how long. The decoder crate gives every
//! sample and leaves the list unread, so it is read here. Boxes and fields as ISO/IEC 14496-12 lays
//! them down (8.6.6 `elst`, 8.2.2 `mvhd`, 8.4.2 `mdhd`, 8.4.3 `hdlr`).

use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::ops::Range;
use std::path::Path;

/// Boxes looked through at one level at most: a damaged file must not keep us.
const MOST_BOXES: usize = 10_000;
/// A start that is farther off is damage, s.
const LATEST_S: f64 = 86_400.0;
/// Entries of an edit list at most.
const MOST_EDITS: u32 = 1_000;

/// Where the first decoded sample of the first sound track lies on the clip's clock, s (negative for
/// an encoder's lead-in); `None` where the file has no edit list for it, or it cannot be read.
pub(super) fn sound_start_s(path: &Path) -> Option<f64> {
    let mut file = Boxes(BufReader::new(File::open(path).ok()?));
    let end = file.0.seek(SeekFrom::End(0)).ok()?;
    let moov = file.find(0..end, b"moov")?;
    let mvhd = file.find(moov.clone(), b"mvhd")?;
    let movie_hz = file.time_scale(mvhd)?;
    let sound = file
        .all(moov, b"trak")
        .into_iter()
        .find(|trak| file.is_sound(trak.clone()) == Some(true))?;
    let media_hz = file
        .inside(sound.clone(), &[b"mdia", b"mdhd"])
        .and_then(|mdhd| file.time_scale(mdhd))?;
    let edits = file.inside(sound, &[b"edts", b"elst"])?;
    file.first_edit(edits, movie_hz, media_hz)
        .filter(|start_s| start_s.abs() < LATEST_S)
}

struct Boxes(BufReader<File>);

impl Boxes {
    /// The contents of every box called `name` in `span`.
    fn all(&mut self, span: Range<u64>, name: &[u8; 4]) -> Vec<Range<u64>> {
        let (mut at, mut found) = (span.start, Vec::new());
        for _ in 0..MOST_BOXES {
            let Some((kind, content)) = self.header(at, span.end) else {
                break;
            };
            at = content.end;
            if kind == *name {
                found.push(content);
            }
        }
        found
    }

    fn find(&mut self, span: Range<u64>, name: &[u8; 4]) -> Option<Range<u64>> {
        self.all(span, name).into_iter().next()
    }

    fn inside(&mut self, span: Range<u64>, names: &[&[u8; 4]]) -> Option<Range<u64>> {
        names
            .iter()
            .try_fold(span, |span, name| self.find(span, name))
    }

    /// Kind and content of the box at `at`: 32-bit size, or 64-bit after a 1, or to the end for a 0.
    fn header(&mut self, at: u64, end: u64) -> Option<([u8; 4], Range<u64>)> {
        if at.checked_add(8)? > end {
            return None;
        }
        let short = u64::from(self.u32(at)?);
        let kind = self.bytes::<4>(at + 4)?;
        let (head, size) = match short {
            0 => (8, end - at),
            1 => (16, self.u64(at + 8)?),
            size => (8, size),
        };
        let stop = at.checked_add(size)?;
        (size >= head && stop <= end).then_some((kind, at + head..stop))
    }

    /// Units a second of an `mvhd` or `mdhd`: after two stamps of 4 bytes each, of 8 in version 1.
    fn time_scale(&mut self, span: Range<u64>) -> Option<f64> {
        let long = self.bytes::<1>(span.start)? == [1];
        let hz = self.u32(span.start + if long { 20 } else { 12 })?;
        (hz > 0).then_some(f64::from(hz))
    }

    fn is_sound(&mut self, trak: Range<u64>) -> Option<bool> {
        let hdlr = self.inside(trak, &[b"mdia", b"hdlr"])?;
        Some(self.bytes::<4>(hdlr.start + 8)? == *b"soun")
    }

    /// Empty edits wait; the first other one names the sample that is then heard.
    fn first_edit(&mut self, elst: Range<u64>, movie_hz: f64, media_hz: f64) -> Option<f64> {
        let long = self.bytes::<1>(elst.start)? == [1];
        let count = self.u32(elst.start + 4)?.min(MOST_EDITS);
        let (step, mut at, mut wait_s) = (if long { 20 } else { 12 }, elst.start + 8, 0.0);
        for _ in 0..count {
            let (length, from) = match long {
                true => (self.u64(at)? as f64, self.u64(at + 8)? as i64),
                false => (
                    f64::from(self.u32(at)?),
                    i64::from(self.u32(at + 4)? as i32),
                ),
            };
            if from >= 0 {
                return Some(wait_s - from as f64 / media_hz);
            }
            wait_s += length / movie_hz;
            at += step;
        }
        None
    }

    fn u32(&mut self, at: u64) -> Option<u32> {
        self.bytes(at).map(u32::from_be_bytes)
    }

    fn u64(&mut self, at: u64) -> Option<u64> {
        self.bytes(at).map(u64::from_be_bytes)
    }

    fn bytes<const N: usize>(&mut self, at: u64) -> Option<[u8; N]> {
        let mut bytes = [0; N];
        self.0.seek(SeekFrom::Start(at)).ok()?;
        self.0.read_exact(&mut bytes).ok()?;
        Some(bytes)
    }
}
