//! Millimetres at the lure: from its body length, from a yardstick in the picture, or from both.

use super::PxScale;

/// How much farther or nearer than the yardstick the lure may be where nothing is said, as a part of the
/// distance (half-width of a 95 % interval). Our own choice: somebody who lays a ruler "beside the lure's
/// way" is right to a tenth.
pub const DISTANCE_DOUBT: f64 = 0.10;
/// The same where the ratio of the two distances is given.
pub const GIVEN_DISTANCE_DOUBT: f64 = 0.03;
/// The least doubt of any scale: outlines and rulers are no gauges.
const LEAST_DOUBT: f64 = 0.005;

/// What a scale was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScaleSource {
    /// A ruler in the picture.
    Ruler,
    /// A board of squares in the picture.
    Board,
    /// A yardstick and the body length, weighed by their doubts.
    Both,
}

impl ScaleSource {
    /// Stable word for files.
    pub fn word(self) -> &'static str {
        match self {
            ScaleSource::Ruler => "ruler",
            ScaleSource::Board => "board",
            ScaleSource::Both => "length and yardstick",
        }
    }
}

/// The scale at the lure, as the length that its body in the picture stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Length of the body as it was followed, mm.
    pub body_mm: f64,
    /// Half-width of its 95 % interval, as a part of it. It enters every figure in mm and m/s.
    pub doubt: f64,
    /// mm per px at the lure.
    pub mm_per_px: f64,
    /// What it was taken from.
    pub source: ScaleSource,
}

impl Scale {
    /// From a yardstick of scale `seen` where it lies. The lure is `farther` times as far from the camera
    /// (`None`: as far, give or take [`DISTANCE_DOUBT`]) and its body takes `body_px` in the picture.
    /// A size in the picture goes with one over the distance, so mm per px goes with the distance.
    pub fn of_yardstick(
        seen: PxScale,
        source: ScaleSource,
        farther: Option<f64>,
        body_px: f64,
    ) -> Scale {
        let away = farther.map_or(DISTANCE_DOUBT, |_| GIVEN_DISTANCE_DOUBT);
        let mm_per_px = seen.mm_per_px * farther.unwrap_or(1.0);
        Scale {
            body_mm: mm_per_px * body_px,
            doubt: seen.doubt.hypot(away).max(LEAST_DOUBT),
            mm_per_px,
            source,
        }
    }

    /// Together with a body length of `length_mm` whose ends in the picture are known to `ends` of it
    /// (half-width of a 95 % interval): each weighed by one over its squared doubt, in logarithms. Where
    /// the two contradict each other beyond their doubts, the doubt spans both.
    pub fn and_length(self, length_mm: f64, ends: f64) -> (Scale, Option<Contradiction>) {
        let ends = ends.max(LEAST_DOUBT);
        let apart = (self.body_mm / length_mm).ln();
        let (w, v) = (self.doubt.powi(-2), ends.powi(-2));
        let body_mm = length_mm * (apart * w / (w + v)).exp();
        let joined = (w + v).powf(-0.5);
        let contradicts = apart.abs() > self.doubt.hypot(ends);
        let scale = Scale {
            body_mm,
            doubt: if contradicts {
                joined.max(apart.abs())
            } else {
                joined
            },
            mm_per_px: self.mm_per_px * body_mm / self.body_mm,
            source: ScaleSource::Both,
        };
        let contradiction = contradicts.then_some(Contradiction {
            by_yardstick_mm: self.body_mm,
            told_mm: length_mm,
        });
        (scale, contradiction)
    }
}

/// A body length and a yardstick that cannot both be right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contradiction {
    /// Body length by the yardstick, mm.
    pub by_yardstick_mm: f64,
    /// Body length as told, mm.
    pub told_mm: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    const SEEN: PxScale = PxScale {
        mm_per_px: 0.5,
        doubt: 0.01,
    };

    fn by_ruler(farther: Option<f64>) -> Scale {
        Scale::of_yardstick(SEEN, ScaleSource::Ruler, farther, 116.0)
    }

    #[test]
    fn a_ruler_at_another_distance_is_widened() {
        let scale = by_ruler(None);
        assert_abs_diff_eq!(scale.body_mm, 58.0, epsilon = 1e-12);
        assert_abs_diff_eq!(scale.doubt, 0.01f64.hypot(0.1), epsilon = 1e-12);
        let farther = by_ruler(Some(1.2));
        assert_abs_diff_eq!(farther.body_mm, 69.6, epsilon = 1e-12);
        assert!(farther.doubt < scale.doubt);
    }

    #[test]
    fn length_and_ruler_are_weighed() {
        let (both, contradiction) = by_ruler(None).and_length(60.0, 0.05);
        assert_eq!(contradiction, None);
        assert!(both.body_mm > 58.0 && both.body_mm < 60.0);
        assert!(both.doubt < 0.05);
        // The better known one counts for more.
        assert!((both.body_mm - 60.0).abs() < (both.body_mm - 58.0).abs());
    }

    #[test]
    fn a_contradiction_is_told_and_spanned() {
        let (both, contradiction) = by_ruler(None).and_length(90.0, 0.05);
        let contradiction = contradiction.unwrap();
        assert_abs_diff_eq!(contradiction.by_yardstick_mm, 58.0, epsilon = 1e-9);
        let [low, high] = [
            both.body_mm * (-both.doubt).exp(),
            both.body_mm * both.doubt.exp(),
        ];
        assert!(low < 58.0 && high > 90.0);
    }
}
