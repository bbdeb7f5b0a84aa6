//! Sightings of a moment, with nothing seen before and after: they may be of something else.

/// Sightings that last no longer than this, s …
const BRIEF_S: f64 = 0.2;
/// … with nothing seen for this long on either side, s, tell little.
const APART_S: f64 = 0.25;

/// Which of the sightings at the rising times `seen_s` are of a moment only, apart from any others.
pub(super) fn of_a_moment(seen_s: &[f64]) -> Vec<bool> {
    let stretches: Vec<&[f64]> = seen_s.chunk_by(|a, b| b - a < APART_S).collect();
    let apart = stretches.len() > 1;
    let brief = |s: &[f64]| apart && s[s.len() - 1] - s[0] <= BRIEF_S;
    stretches
        .into_iter()
        .flat_map(|s| std::iter::repeat_n(brief(s), s.len()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frames(from: u32, to: u32) -> impl Iterator<Item = f64> {
        (from..to).map(|k| f64::from(k) / 30.0)
    }

    #[test]
    fn a_moment_after_an_absence_is_dropped_and_a_flicker_is_not() {
        let seen: Vec<f64> = frames(0, 60).chain(frames(75, 79)).collect();
        let dropped = of_a_moment(&seen);
        assert!(!dropped[..60].contains(&true) && !dropped[60..].contains(&false));
        let flicker: Vec<f64> = frames(0, 60).step_by(3).collect();
        assert!(!of_a_moment(&flicker).contains(&true));
    }

    #[test]
    fn a_clip_of_a_moment_keeps_what_it_has() {
        assert_eq!(of_a_moment(&[0.0, 0.05]), [false, false]);
        assert!(of_a_moment(&[]).is_empty());
    }
}
