//! A photo as part of the page: its bytes in the address itself (RFC 2397, RFC 4648).

use std::path::Path;

/// Larger pictures stay out: the page has to open on a phone.
const MOST_BYTES: u64 = 8 << 20;

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// The picture as a `data:` address; `None` where it is gone, too large, or neither JPEG nor PNG.
pub fn inline(path: &Path) -> Option<String> {
    let is_small = std::fs::metadata(path).ok()?.len() <= MOST_BYTES;
    let bytes = is_small.then(|| std::fs::read(path).ok()).flatten()?;
    let kind = match &bytes[..] {
        [0xff, 0xd8, 0xff, ..] => "jpeg",
        [0x89, b'P', b'N', b'G', ..] => "png",
        _ => return None,
    };
    Some(format!("data:image/{kind};base64,{}", base64(&bytes)))
}

fn base64(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let all = three
            .iter()
            .fold(0u32, |all, byte| all << 8 | u32::from(*byte))
            << (8 * (3 - three.len()));
        for i in 0..4 {
            let letter = LETTERS[(all >> (18 - 6 * i) & 63) as usize];
            text.push(if i <= three.len() {
                char::from(letter)
            } else {
                '='
            });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::base64;

    /// RFC 4648, section 10.
    #[test]
    fn test_vectors() {
        let vectors = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (plain, coded) in vectors {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }
}
