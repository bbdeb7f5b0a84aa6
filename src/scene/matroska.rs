//! Raw pictures with a time stamp each, as a Matroska stream: the way to tell `ffmpeg` uneven stamps
//! through a pipe. Element numbers are those of the Matroska specification (RFC 9559).

use std::io::{Result, Write};

/// Writes the head of a stream of raw 24-bit pictures; stamps count in milliseconds.
pub fn head(out: &mut impl Write, width: usize, height: usize) -> Result<()> {
    let ebml = element(
        &[0x1a, 0x45, 0xdf, 0xa3],
        &element(&[0x42, 0x82], b"matroska"),
    );
    let info = element(
        &[0x15, 0x49, 0xa9, 0x66],
        &number(&[0x2a, 0xd7, 0xb1], 1_000_000),
    );
    let video = [
        number(&[0xb0], width as u64),
        number(&[0xba], height as u64),
        element(&[0x2e, 0xb5, 0x24], b"RGB\x18"),
    ]
    .concat();
    let track = [
        number(&[0xd7], 1),
        number(&[0x73, 0xc5], 1),
        number(&[0x83], 1),
        element(&[0x86], b"V_UNCOMPRESSED"),
        element(&[0xe0], &video),
    ]
    .concat();
    let tracks = element(&[0x16, 0x54, 0xae, 0x6b], &element(&[0xae], &track));
    out.write_all(&ebml)?;
    // A segment of unknown length: it ends where the pipe ends.
    out.write_all(&[
        0x18, 0x53, 0x80, 0x67, 0x01, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff,
    ])?;
    out.write_all(&info)?;
    out.write_all(&tracks)
}

/// Writes one picture shown from `ms` on, as a cluster of its own.
pub fn picture(out: &mut impl Write, ms: u64, pixels: &[u8]) -> Result<()> {
    let stamp = number(&[0xe7], ms);
    // Track 1, no offset from the cluster's stamp, a picture that stands alone.
    let block_head = [0x81, 0x00, 0x00, 0x80];
    let block_length = block_head.len() + pixels.len();
    let before_block = [vec![0xa3], length(block_length)].concat();
    let cluster_length = stamp.len() + before_block.len() + block_length;
    out.write_all(&[0x1f, 0x43, 0xb6, 0x75])?;
    out.write_all(&length(cluster_length))?;
    out.write_all(&stamp)?;
    out.write_all(&before_block)?;
    out.write_all(&block_head)?;
    out.write_all(pixels)
}

/// A length in eight bytes.
fn length(n: usize) -> Vec<u8> {
    (n as u64 | 1 << 56).to_be_bytes().to_vec()
}

fn element(id: &[u8], body: &[u8]) -> Vec<u8> {
    [id, &length(body.len()), body].concat()
}

fn number(id: &[u8], n: u64) -> Vec<u8> {
    element(id, &n.to_be_bytes())
}
