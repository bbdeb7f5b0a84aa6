//! Bad input told in one line: what it is, where, and what to do.

use crate::{Error, Result};
use std::fs::File;
use std::io::{ErrorKind, Read, Seek, SeekFrom};
use std::path::Path;

/// Refuses what can be neither clip nor photo before any decoder sees it.
///
/// # Errors
/// [`Error::Unreadable`] for a missing file, a folder, a device, an empty file, a file that may
/// not be read, or a name that is not valid UTF-8 (FFmpeg takes names as UTF-8).
pub fn check_file(path: &Path) -> Result<()> {
    let refuse = |what: &str, remedy: &str| Err(Error::unreadable(path, what, remedy));
    let about = match File::open(path).and_then(|file| file.metadata()) {
        Ok(about) => about,
        Err(e) if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {
            return refuse("there is no such file", "check the name and the folder");
        }
        Err(e) if e.kind() == ErrorKind::PermissionDenied => {
            return refuse(
                "you may not read this file",
                "change its permissions or copy it",
            );
        }
        Err(e) => {
            return refuse(
                &format!("it cannot be opened ({e})"),
                "check the name and the disk",
            );
        }
    };
    if about.is_dir() {
        return refuse("this is a folder", "name one file in it");
    }
    if !about.is_file() {
        return refuse(
            "this is not a file",
            "name a clip (mp4, mov, mkv or avi) or a photo",
        );
    }
    if about.len() == 0 {
        return refuse("the file is empty", "copy it from the phone again");
    }
    if path.to_str().is_none() {
        return refuse(
            "the name holds characters that cannot be read",
            "rename the file",
        );
    }
    Ok(())
}

/// Whether a file is of the kind in which some phones keep their photos (ISO/IEC 23008-12, 10.2: its brands).
pub fn is_heic(bytes: &[u8]) -> bool {
    const BRANDS: [&[u8]; 6] = [b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1"];
    bytes.get(4..8) == Some(b"ftyp")
        && bytes
            .get(8..12)
            .is_some_and(|brand| BRANDS.contains(&brand))
}

/// The refusal for a file that no reader for clips takes, with the likeliest reason.
pub fn not_a_clip(path: &Path) -> Error {
    if first_bytes(path).is_some_and(|bytes| is_heic(&bytes)) {
        return Error::unreadable(
            path,
            "this is a photo, not a video clip",
            "give an mp4, mov, mkv or avi file",
        );
    }
    match boxes(path) {
        Some(boxes) if !boxes.contains(b"moov") => Error::unreadable(
            path,
            "the recording was cut short, its index (at the file's end) is missing",
            "copy the clip from the phone again, or film again",
        ),
        Some(_) => Error::unreadable(
            path,
            "the file is damaged and cannot be read",
            "copy the clip from the phone again",
        ),
        None => Error::unreadable(
            path,
            "this is not a video clip",
            "give an mp4, mov, mkv or avi file",
        ),
    }
}

fn first_bytes(path: &Path) -> Option<[u8; 12]> {
    let mut bytes = [0; 12];
    File::open(path)
        .and_then(|mut file| file.read_exact(&mut bytes))
        .ok()?;
    Some(bytes)
}

/// The refusal for a file with no moving picture in it.
pub fn no_picture(path: &Path) -> Error {
    Error::unreadable(
        path,
        "there is no moving picture in this file",
        "give the clip itself, not its sound or its cover",
    )
}

/// Kinds of the top-level boxes of an MP4 or MOV file (ISO/IEC 14496-12: 32-bit length, kind,
/// 64-bit length if the first says 1); `None` if it does not begin like one.
fn boxes(path: &Path) -> Option<Vec<[u8; 4]>> {
    const FIRST: [&[u8; 4]; 6] = [b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"];
    let mut file = File::open(path).ok()?;
    let size = file.metadata().ok()?.len();
    let (mut kinds, mut at) = (Vec::new(), 0u64);
    while at + 8 <= size && kinds.len() < 1000 {
        let mut head = [0u8; 16];
        file.seek(SeekFrom::Start(at)).ok()?;
        let got = file.read(&mut head).ok()?;
        let kind = [head[4], head[5], head[6], head[7]];
        if kinds.is_empty() && !FIRST.contains(&&kind) {
            return None;
        }
        kinds.push(kind);
        let length = match u32::from_be_bytes([head[0], head[1], head[2], head[3]]) {
            0 => break,
            1 if got == 16 => u64::from_be_bytes(head[8..16].try_into().ok()?),
            short => u64::from(short),
        };
        at = at.checked_add(length.max(8))?;
    }
    (!kinds.is_empty()).then_some(kinds)
}
