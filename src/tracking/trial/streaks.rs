//! What the streaks off the ends of a spot say of a line.

use crate::units::wrap_deg;

/// Streaks of one line lie within this of each other, degrees: those of stones point anywhere.
const ONE_LINE_DEG: f64 = 12.0;

/// A strong streak off either end: in which of the frames, and its direction in the picture, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffAnEnd {
    pub frame: usize,
    pub direction_deg: f64,
    pub strength: f64,
}

/// What the streaks say of a line: in how many frames it shows in one direction, and in how many as well in the
/// opposite one, as an edge of stone or light does that merely passes under the spot.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Line {
    pub direction_deg: f64,
    pub frames: usize,
    pub opposite: usize,
    pub strength: f64,
}

/// The direction in which the streaks are strongest together.
pub fn clearest(streaks: &[OffAnEnd]) -> Line {
    let near = |deg: f64| {
        let (mut frames, mut strength, mut last) = (0, 0.0, usize::MAX);
        for s in streaks {
            if wrap_deg(s.direction_deg - deg).abs() <= ONE_LINE_DEG && s.frame != last {
                (frames, strength, last) = (frames + 1, strength + s.strength, s.frame);
            }
        }
        (frames, strength)
    };
    streaks
        .iter()
        .map(|s| {
            let (frames, strength) = near(s.direction_deg);
            Line {
                direction_deg: s.direction_deg,
                frames,
                opposite: near(s.direction_deg + 180.0).0,
                strength,
            }
        })
        .max_by(|a, b| a.strength.total_cmp(&b.strength))
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn streaks(directions: &[f64]) -> Vec<OffAnEnd> {
        let off = |(frame, &direction_deg)| OffAnEnd {
            frame,
            direction_deg,
            strength: 8.0,
        };
        directions.iter().enumerate().map(off).collect()
    }

    #[test]
    fn streaks_of_stones_do_not_agree_and_those_of_a_line_do() {
        let line = clearest(&streaks(&[176.0, 178.0, 180.0, -179.0, -177.0, 20.0]));
        assert_eq!((line.frames, line.opposite), (5, 0));
        assert_eq!(line.strength, 40.0);
        let stones = clearest(&streaks(&[0.0, 36.0, 72.0, 108.0, 144.0, 200.0]));
        assert_eq!(stones.frames, 1);
        assert_eq!(clearest(&[]).frames, 0);
    }

    #[test]
    fn an_edge_that_passes_under_the_spot_shows_off_both_ends() {
        let mut edge = streaks(&[90.0; 6]);
        edge.extend(streaks(&[-90.0; 6]));
        let edge = clearest(&edge);
        assert_eq!((edge.frames, edge.opposite), (6, 6));
    }
}
