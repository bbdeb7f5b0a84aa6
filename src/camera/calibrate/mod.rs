//! A lens from pictures of a board of squares (Zhang 2000, IEEE Trans. PAMI 22:1330, from memory; OpenCV's
//! calib3d does the work).
//!
//! | file | step |
//! |---|---|
//! | `board` | the board's inner corners in a picture |
//! | `pictures` | photos, or a clip thinned to views that differ |
//! | `fit` | lens and views fitted together; what each view left out does to it tells its doubt |

mod board;
mod fit;
mod pictures;

use std::path::PathBuf;

use super::{Board, Lens};
use crate::Result;

pub use board::{board_in_clip, find_board};
pub use fit::{Freedom, Views, fit};

/// What a calibration is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct LensPictures {
    /// Photos, or one clip.
    pub files: Vec<PathBuf>,
    /// The board.
    pub board: Board,
    /// Whether they were taken under water.
    pub under_water: bool,
}

/// A lens, and what became of the pictures.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// The lens.
    pub lens: Lens,
    /// Pictures looked at.
    pub pictures: usize,
    /// In how many of them the board was seen whole.
    pub whole: usize,
}

/// Calibrates a lens. `progress` is called with the pictures looked at.
///
/// # Errors
/// [`Unreadable`](crate::Error::Unreadable) for a file that is no picture or clip, pictures of unlike sizes, a board
/// that is never seen whole or seen in too few views, and views that do not settle the lens.
pub fn calibrate(pictures: &LensPictures, progress: &mut dyn FnMut(usize)) -> Result<Calibration> {
    let seen = pictures::look(pictures, progress)?;
    let lens = fit::settled(&seen.views, pictures)?;
    Ok(Calibration {
        lens,
        pictures: seen.pictures,
        whole: seen.whole,
    })
}
