//! How often it darts: a count over the time or the way seen, with an exact interval.
//!
//! Darts are taken as independent events (a Poisson count). The interval is Garwood's exact one
//! (Garwood 1936, Biometrika 28:437): for `k` events, from χ²(0.025; 2k)/2 to χ²(0.975; 2k+2)/2.
//! It is wide for a short clip, as it should be: eight seconds without a dart say little.

use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::motion::Swim;
use crate::tracking::Track;
use crate::{Measured, Status};

/// 95 % interval of the expected count where `count` events were seen (Garwood 1936).
pub fn count_interval(count: usize) -> [f64; 2] {
    let quantile = |p: f64, events: usize| match ChiSquared::new(2.0 * events as f64) {
        Ok(chi2) if events > 0 => chi2.inverse_cdf(p) / 2.0,
        _ => 0.0,
    };
    [quantile(0.025, count), quantile(0.975, count + 1)]
}

/// Time over which the lure was seen to swim, s: the gaps between frames that both show it, until it blew out.
pub fn seen_seconds(track: &Track, swim: &Swim) -> f64 {
    let until_s = swim.blow_out.t_s.unwrap_or(f64::INFINITY);
    track
        .frames
        .windows(2)
        .filter(|pair| pair[0].is_seen() && pair[1].is_seen() && pair[1].t_s <= until_s)
        .map(|pair| pair[1].t_s - pair[0].t_s)
        .sum()
}

/// Darts per minute of the `seen_s` seconds in which the lure was seen. Only darts that came back
/// count: one that does not is no dart.
pub fn darts_per_minute(swim: &Swim, seen_s: f64) -> Measured {
    match count(swim) {
        Ok(count) => per(count, [seen_s / 60.0; 3]),
        Err(missing) => missing,
    }
}

/// Darts per metre of pull: the way is the speed times `seen_s`, and the interval takes in both the
/// count's and the speed's.
pub fn darts_per_metre(swim: &Swim, seen_s: f64) -> Measured {
    let (Some(speed), Some([slow, fast])) = (swim.speed.value, swim.speed.ci95) else {
        return Measured::unmeasurable("the speed is not known; give --speed, or count per minute");
    };
    match count(swim) {
        Ok(count) => per(count, [slow * seen_s, speed * seen_s, fast * seen_s]),
        Err(missing) => missing,
    }
}

fn count(swim: &Swim) -> Result<usize, Measured> {
    match swim.hunts.status {
        Status::Measured | Status::None => Ok(swim
            .hunts
            .events
            .iter()
            .filter(|dart| dart.recovered)
            .count()),
        other => Err(Measured {
            why: swim.hunts.why.clone(),
            ..Measured::without(other, "darts cannot be told in this clip")
        }),
    }
}

/// `count` events over an exposure known as [least, best, most].
fn per(count: usize, [least, best, most]: [f64; 3]) -> Measured {
    if !(least > 0.0 && most.is_finite()) {
        return Measured::unmeasurable("the lure was not seen long enough to count darts");
    }
    let [few, many] = count_interval(count);
    Measured::new(count as f64 / best, [few / most, many / least])
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Garwood's limits as tabulated in many statistics texts, here from memory:
    /// 0 → (0, 3.689), 1 → (0.0253, 5.572), 3 → (0.619, 8.767), 10 → (4.795, 18.390).
    #[test]
    fn interval_of_a_count() {
        for (count, lo, hi) in [
            (0, 0.0, 3.689),
            (1, 0.0253, 5.572),
            (3, 0.619, 8.767),
            (10, 4.795, 18.390),
        ] {
            let found = count_interval(count);
            assert_relative_eq!(found[0], lo, epsilon = 6e-4);
            assert_relative_eq!(found[1], hi, epsilon = 6e-4);
        }
    }

    #[test]
    fn more_doubt_about_the_speed_widens_the_interval() {
        let sure = per(4, [10.0, 10.0, 10.0]);
        let unsure = per(4, [8.0, 10.0, 12.0]);
        let (a, b) = (sure.ci95.unwrap(), unsure.ci95.unwrap());
        assert!(b[0] < a[0] && b[1] > a[1]);
        assert_eq!(sure.value, unsure.value);
    }

    #[test]
    fn nothing_seen_is_no_figure() {
        assert_eq!(per(0, [0.0; 3]).status, Status::Unmeasurable);
        assert_eq!(per(0, [f64::NAN; 3]).status, Status::Unmeasurable);
    }
}
