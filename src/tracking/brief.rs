//! Sightings of a moment, with nothing seen before and after: they may be of something else.

/// Sightings that last no longer than this, s …
const BRIEF_S: f64 = 0.2;
/// … with nothing seen for this long on either side, s, tell little.
const APART_S: f64 = 0.25;
/// Nor do those that last no longer than this part of the absences about them, where others last so many times as long.
const OF_ABSENCE: f64 = 0.5;
const LONGER: f64 = 3.0;

/// Which of the sightings at the rising times `seen_s` are of a moment only, apart from any others.
pub(super) fn of_a_moment(seen_s: &[f64]) -> Vec<bool> {
    let stretches: Vec<&[f64]> = seen_s.chunk_by(|a, b| b - a < APART_S).collect();
    let lasting: Vec<usize> = (0..stretches.len())
        .filter(|&k| stretches.len() == 1 || lasts_s(stretches[k]) > BRIEF_S)
        .collect();
    let longest = lasting.iter().map(|&k| lasts_s(stretches[k]));
    let longest = longest.fold(0.0, f64::max);
    let absence_s = |n: usize, m: usize| {
        let [before, after] = [stretches[lasting[n]], stretches[lasting[m]]];
        after[0] - before[before.len() - 1]
    };
    let mut kept = vec![false; stretches.len()];
    for (n, &k) in lasting.iter().enumerate() {
        let before_s = (n > 0).then(|| absence_s(n - 1, n));
        let after_s = (n + 1 < lasting.len()).then(|| absence_s(n, n + 1));
        let absences = before_s.into_iter().chain(after_s);
        let shortest = absences.fold(f64::INFINITY, f64::min);
        let lasts = lasts_s(stretches[k]);
        kept[k] = lasts > OF_ABSENCE * shortest || LONGER * lasts >= longest || lasting.len() == 1;
    }
    let of_a_moment = stretches.iter().zip(kept);
    of_a_moment
        .flat_map(|(stretch, kept)| std::iter::repeat_n(!kept, stretch.len()))
        .collect()
}

/// How long a stretch of sightings lasts, s.
fn lasts_s(stretch: &[f64]) -> f64 {
    stretch[stretch.len() - 1] - stretch[0]
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
    fn a_start_that_was_soon_lost_for_long_is_dropped() {
        let seen: Vec<f64> = frames(0, 12).chain(frames(45, 150)).collect();
        let dropped = of_a_moment(&seen);
        assert!(!dropped[..12].contains(&false) && !dropped[12..].contains(&true));
        // hidden for a shorter time, it was the same
        let hidden: Vec<f64> = frames(0, 12).chain(frames(27, 150)).collect();
        assert!(!of_a_moment(&hidden).contains(&true));
        // and of two that last as long none is the stray one
        let even: Vec<f64> = frames(0, 12).chain(frames(60, 75)).collect();
        assert!(!of_a_moment(&even).contains(&true));
    }

    #[test]
    fn a_clip_of_a_moment_keeps_what_it_has() {
        assert_eq!(of_a_moment(&[0.0, 0.05]), [false, false]);
        assert!(of_a_moment(&[]).is_empty());
    }
}
