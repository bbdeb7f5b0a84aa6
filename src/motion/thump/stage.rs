//! What the levels tell of a recording: its pulls, its gusts, and the pieces to follow the rate in.

use super::levels::Levels;
use super::{Gust, Part, follow};

/// Pulls, gusts and the pieces to follow.
#[derive(Default)]
pub(super) struct Stage {
    levels: Levels,
    pub parts: Vec<Part>,
    pub gusts: Vec<Gust>,
    pub pieces: Vec<[usize; 2]>,
}

impl Stage {
    /// By the `levels` of quantities without their slow way; one pull over all where the user `told` the part.
    pub fn of(t: &[f64], levels: Levels, told: bool) -> Stage {
        let parts = match told {
            true => levels.whole(),
            false => levels.parts(),
        };
        Stage::with(t, levels, parts)
    }

    fn with(t: &[f64], levels: Levels, parts: Vec<Part>) -> Stage {
        Stage {
            gusts: levels.gusts(&parts),
            pieces: follow::pieces(t, &parts),
            levels,
            parts,
        }
    }

    /// Pulls told anew by what moves about the rate, `near`: much less noise is left in that.
    pub fn told_by(self, t: &[f64], near: &[f32]) -> Stage {
        Stage::with(t, self.levels, Levels::of(t, [near]).parts())
    }
}

/// The longest of them.
pub(super) fn longest(pieces: &[[usize; 2]]) -> Option<[usize; 2]> {
    pieces.iter().copied().max_by_key(|p| p[1] - p[0])
}
