//! The checksum that ties a result to the very file that it was measured from.

use crate::{Error, Result};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// SHA-256 of a file as 64 hexadecimal digits, read in pieces.
///
/// # Errors
/// [`Error::File`] if the file cannot be read.
pub fn sha256_of(path: &Path) -> Result<String> {
    let failed = |e| Error::file(path, e);
    let mut file = File::open(path).map_err(failed)?;
    let (mut hash, mut piece) = (Sha256::new(), vec![0u8; 1 << 18]);
    loop {
        match file.read(&mut piece).map_err(failed)? {
            0 => break,
            n => hash.update(&piece[..n]),
        }
    }
    Ok(hash
        .finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_letters() {
        // FIPS 180-4's example "abc", as printed by NIST.
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("abc");
        std::fs::write(&path, "abc").unwrap();
        let want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256_of(&path).unwrap(), want);
        assert!(sha256_of(&dir.path().join("gone")).is_err());
    }
}
