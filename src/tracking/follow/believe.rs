//! Whether what was found is the lure.

use opencv::core::MatTraitConst;

use super::super::fit::Fit;
use super::super::pose::Pose;
use super::{BRIEF, Follower, SETTLED};
use crate::media::Frame;

/// Likeness of plain water.
const UNLIKE: f64 = 0.25;
/// A fit whose likeness (above that of water) falls below this part of the usual one is not the lure.
const LEAST_LIKENESS: f64 = 0.55;
/// The same for taking it up again after it was out of sight.
const LEAST_LIKENESS_AGAIN: f64 = 0.75;
/// Farther away than this, in lengths, it must also agree to at least this part of the usual agreement: a stray
/// patch of its colours is smaller.
const FAR: f64 = 1.0;
const LEAST_AGREEMENT_AGAIN: f64 = 0.7;
/// So many frames in a row it must be seen, without a leap, before it is believed again: near, and far away.
const SURE_NEAR: usize = 3;
const SURE_FAR: usize = 6;
/// From where it is expected it leaps no farther than this, in lengths, and so many more a second since it
/// was seen.
const LEAP: f64 = 0.4;
const LEAP_PER_S: f64 = 12.0;
/// Farther than this from where it is expected, in lengths and in lengths a second since it was seen, it must be the more
/// like itself, by so much a length: where the lure goes out of sight, something hardly like it may lie about.
const STRAYS: f64 = 0.15;
const STRAYS_PER_S: f64 = 2.0;
const LIKER_PER_LENGTH: f64 = 0.45;
/// From one frame to the next its apparent size changes by no more than this (natural log).
const SWELL: f64 = 0.5;

impl Follower {
    /// Whether a fit is the lure: like it, not of another size, not far from where it was; and, where it was
    /// out of sight, for several frames.
    pub(super) fn believes(&mut self, fit: &Fit, trust: f64, now_s: f64) -> bool {
        let brief = self.absence.frames() < BRIEF;
        let [x_px, y_px] = self.advanced();
        let expected = self.hung(Pose {
            x_px,
            y_px,
            ..self.pose
        });
        let away_px = (fit.pose.x_px - expected.x_px).hypot(fit.pose.y_px - expected.y_px);
        let away = away_px / self.pose.along_px;
        let since_s = if self.seen > 0 {
            now_s - self.seen_s
        } else {
            f64::INFINITY
        };
        let leaps = brief && away > LEAP + LEAP_PER_S * since_s;
        let far = away > FAR;
        let like = if brief {
            // before that its usual likeness is not known
            let off = if self.seen > SETTLED { away } else { 0.0 };
            trust >= least_likeness(off, since_s)
        } else {
            trust >= LEAST_LIKENESS_AGAIN
                && (!far || fit.agreement >= LEAST_AGREEMENT_AGAIN * self.usual_agreement)
        };
        let swells = (fit.pose.along_px.ln() - self.mean_along).abs() > SWELL;
        if !like || leaps || swells || !self.usual_size.fits(&fit.pose) {
            self.absence.nothing_seen();
            false
        } else if brief {
            self.absence.end();
            true
        } else {
            self.absence
                .seen(&fit.pose, if far { SURE_FAR } else { SURE_NEAR })
        }
    }

    /// Likeness against the usual one; none for a lure that is cut by the edge of the picture.
    pub(super) fn trust(&self, fit: &Fit, frame: &Frame) -> f64 {
        let (width, height) = (f64::from(frame.luma.cols()), f64::from(frame.luma.rows()));
        let whole = [0.45, -0.45].iter().all(|&u| {
            let [x, y] = fit.pose.picture_point([u, 0.0]);
            x > 1.0 && y > 1.0 && x < width - 1.0 && y < height - 1.0
        });
        if whole {
            (fit.likeness - UNLIKE) / (self.usual - UNLIKE).max(0.1)
        } else {
            0.0
        }
    }
}

/// Least likeness of what was seen just before, so many lengths from where it is expected, so long since then, s.
fn least_likeness(away: f64, since_s: f64) -> f64 {
    let strays = (away - STRAYS - STRAYS_PER_S * since_s).max(0.0);
    (LEAST_LIKENESS + LIKER_PER_LENGTH * strays).min(LEAST_LIKENESS_AGAIN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_off_its_way_must_be_the_more_like_the_lure() {
        let frame = 1.0 / 30.0;
        assert_eq!(least_likeness(0.1, frame), LEAST_LIKENESS);
        assert!(least_likeness(0.7, 2.0 * frame) > 0.65);
        // a longer absence asks no more of it, nor does any distance more than a long absence does
        assert!(least_likeness(0.7, 4.0 * frame) < least_likeness(0.7, 2.0 * frame));
        assert_eq!(least_likeness(3.0, frame), LEAST_LIKENESS_AGAIN);
        assert_eq!(least_likeness(3.0, f64::INFINITY), LEAST_LIKENESS);
    }
}
