//! Boards in clips: a lens file from a clip of drawn views, turned clips, and a board beside the lure's way.

use std::path::{Path, PathBuf};
use std::process::Command;

use truerun::camera::calibrate::{self, LensPictures};
use truerun::camera::{Board, Lens, Showing, Yardstick, board_in_clip};
use truerun::media::ClipOptions;

use super::drawn::{self, PHONE, POSES, photos};

/// The drawn views as a clip, each shown for half a second.
fn clip(folder: &Path, name: &str) -> PathBuf {
    let to = folder.join(name);
    let done = Command::new("ffmpeg")
        .args(["-v", "error", "-y", "-framerate", "2", "-i"])
        .arg(folder.join("board%02d.png"))
        .args(["-r", "20", "-pix_fmt", "yuv420p", "-crf", "12"])
        .arg(&to)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}");
    to
}

/// The same clip with a track header that asks for a quarter turn clockwise (ISO/IEC 14496-12, 8.3.2: the
/// matrix begins 40 bytes after the box's kind in version 0; 16.16 fixed point).
fn turned_quarter(from: &Path, to: &Path) {
    const ONE: i32 = 0x1_0000;
    let mut bytes = std::fs::read(from).unwrap();
    let header = bytes.windows(4).position(|w| w == b"tkhd").unwrap();
    for (place, value) in [(0, 0), (1, ONE), (3, -ONE), (4, 0)] {
        let at = header + 4 + 40 + 4 * place;
        bytes[at..at + 4].copy_from_slice(&value.to_be_bytes());
    }
    std::fs::write(to, bytes).unwrap();
}

fn calibrated(file: PathBuf) -> Lens {
    let pictures = LensPictures {
        files: vec![file],
        board: drawn::board(),
        under_water: false,
    };
    let made = calibrate::calibrate(&pictures, &mut |_| {}).unwrap();
    assert!(made.lens.views >= 10, "{:?}", made);
    made.lens
}

#[test]
fn a_clip_makes_a_lens_file_turned_or_not() {
    let folder = tempfile::tempdir().unwrap();
    photos(folder.path(), PHONE, &POSES);
    let plain = clip(folder.path(), "plain.mp4");
    let upright = calibrated(plain.clone());
    assert!(
        (upright.lens.fx / PHONE.focal - 1.0).abs() < 5e-3,
        "{upright:?}"
    );
    assert_eq!(
        (upright.width, upright.height, upright.turned_deg),
        (640, 360, 0)
    );

    let turned_clip = folder.path().join("turned.mp4");
    turned_quarter(&plain, &turned_clip);
    let turned = calibrated(turned_clip);
    assert_eq!(
        (turned.width, turned.height, turned.turned_deg),
        (360, 640, 90)
    );
    // Used on the upright clip it says the same as the lens made from that.
    let showing = Showing {
        width: 640,
        height: 360,
        turned_deg: 0,
        mirrored: false,
        under_water: false,
    };
    let back = turned.fitted("--lens", showing).unwrap().lens;
    assert!(
        (back.lens.cx - upright.lens.cx).abs() < 3.0 * upright.sd.cx,
        "{back:?}"
    );
    assert!(
        (back.lens.cy - upright.lens.cy).abs() < 3.0 * upright.sd.cy,
        "{back:?}"
    );
    assert!((back.lens.fx / upright.lens.fx - 1.0).abs() < 3e-3);
}

/// The board lies 420 mm from a camera of 520 px: 420/520 mm per px.
#[test]
fn a_board_beside_the_lures_way_tells_the_scale() {
    let folder = tempfile::tempdir().unwrap();
    photos(folder.path(), PHONE, &POSES);
    let file = clip(folder.path(), "plain.mp4");
    let board = Board {
        square_mm: Some(25.0),
        ..drawn::board()
    };
    let options = ClipOptions::default();
    let seen = board_in_clip(&file, &options, &board, 0.0).unwrap();
    let scale = Yardstick::Board(seen).scale().unwrap();
    // The lens's distortion is still in it: it shrinks the board by 1 to 2 per cent.
    let truth = 420.0 / PHONE.focal;
    assert!(
        (scale.mm_per_px / truth - 1.0).abs() < 0.02,
        "{scale:?} {truth}"
    );
    // Half a second on another view is shown.
    let later = board_in_clip(&file, &options, &board, 0.75).unwrap();
    let leaning = Yardstick::Board(later).scale().unwrap();
    assert!((leaning.mm_per_px / (430.0 / PHONE.focal) - 1.0).abs() < 0.02);
    let absent = board_in_clip(
        &file,
        &options,
        &Board {
            columns: 12,
            ..board
        },
        0.0,
    );
    assert!(absent.unwrap_err().to_string().contains("12 × 6 squares"));
}
