//! Whether a photo's file ends before its picture does. The decoders would fill up the rest in grey, and
//! talk on the terminal of their own accord.

/// Last piece of a whole PNG file: length 0, its name and its check sum (ISO/IEC 15948, 11.2.5).
const PNG_END: &[u8] = b"\0\0\0\0IEND\xae\x42\x60\x82";
/// Mark of a JPEG picture's end (ISO/IEC 10918-1, B.1.1.3).
const JPEG_END: &[u8] = &[0xff, 0xd9];

/// Whether these bytes of a JPEG or PNG file lack the picture's end; of other kinds it is not known.
pub(super) fn is_cut_short(bytes: &[u8]) -> bool {
    let ends_with = |end: &[u8], from: usize| {
        bytes
            .get(from..)
            .is_some_and(|rest| rest.windows(end.len()).any(|w| w == end))
    };
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        !ends_with(PNG_END, 8)
    } else if bytes.starts_with(&[0xff, 0xd8]) {
        !jpeg_scan(bytes).is_some_and(|from| ends_with(JPEG_END, from))
    } else {
        false
    }
}

/// Where the picture itself begins in a JPEG file: behind the segments that tell of it, one of which may hold
/// a small picture with an end of its own.
fn jpeg_scan(bytes: &[u8]) -> Option<usize> {
    const SCAN: u8 = 0xda;
    let mut at = 2;
    loop {
        match *bytes.get(at..at + 4)? {
            [0xff, 0xff, ..] => at += 1,
            [0xff, kind, high, low] => {
                at += 2 + usize::from(u16::from_be_bytes([high, low]));
                if kind == SCAN {
                    return Some(at);
                }
            }
            _ => return None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::is_cut_short;

    /// A JPEG file's frame by hand: a segment with an end mark inside, the scan's head, two bytes of picture.
    const JPEG: &[u8] = &[
        0xff, 0xd8, 0xff, 0xe1, 0, 4, 0xff, 0xd9, 0xff, 0xda, 0, 3, 1, 0x11, 0x22, 0xff, 0xd9,
    ];

    #[test]
    fn only_the_end_of_the_picture_itself_counts() {
        assert!(!is_cut_short(JPEG));
        assert!(!is_cut_short(&[JPEG, b"a phone's clip behind it"].concat()));
        for length in 2..JPEG.len() {
            assert!(is_cut_short(&JPEG[..length]), "{length}");
        }
        let png = b"\x89PNG\r\n\x1a\n\0\0\0\x01IDATx\0\0\0\0\0\0\0\0IEND\xae\x42\x60\x82";
        assert!(!is_cut_short(png));
        assert!(is_cut_short(&png[..png.len() - 1]));
        assert!(!is_cut_short(b"BM and what else there is"));
    }
}
