//! How far each sample is trusted: where a channel is far louder than it usually is (a dart, a glare, a slip of the
//! tracking), it says less of the wobble there, and must not drown what it says elsewhere.

use crate::robust::upper_median;

/// Louder than the usual stretch by this factor in power, a stretch is trusted less. Noise that is the same all along
/// stays below it over a whole cycle of samples, but for a chance that costs nothing.
const LOUD: f64 = 4.0;

/// Trust of each sample, 0–1, as a part of a standard deviation, from what the wave left over of it, `rest`, at the
/// stamps `t_s`: loudness is the mean square over `window_s` about it, usual is its median.
pub(super) fn of(t_s: &[f64], rest: &[f64], window_s: f64) -> Vec<f64> {
    let loudness = loudness(t_s, rest, window_s);
    let usual = upper_median(loudness.iter().copied()).unwrap_or(f64::NAN);
    loudness
        .iter()
        .map(|loud| (LOUD * usual / loud).sqrt().min(1.0))
        .map(|trust| if trust.is_finite() { trust } else { 1.0 })
        .collect()
}

fn loudness(t_s: &[f64], rest: &[f64], window_s: f64) -> Vec<f64> {
    let mut sums = vec![0.0];
    sums.extend(rest.iter().scan(0.0, |sum, r| {
        *sum += r * r;
        Some(*sum)
    }));
    t_s.iter()
        .map(|t| {
            let from = t_s.partition_point(|s| *s < t - 0.5 * window_s);
            let to = t_s.partition_point(|s| *s <= t + 0.5 * window_s);
            (sums[to] - sums[from]).max(0.0) / (to - from) as f64
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loud_stretch_is_trusted_less_and_the_rest_wholly() {
        let t: Vec<f64> = (0..200).map(|k| f64::from(k) / 30.0).collect();
        let rest: Vec<f64> = (0..200)
            .map(|k| if (80..110).contains(&k) { 10.0 } else { 1.0 } * f64::from(1 - 2 * (k % 2)))
            .collect();
        let trust = of(&t, &rest, 0.2);
        assert!(trust[..70].iter().chain(&trust[120..]).all(|&t| t == 1.0));
        assert!(trust[85..105].iter().all(|&t| (t - 0.2).abs() < 1e-6));
    }

    #[test]
    fn no_noise_at_all_is_trusted() {
        assert!(
            of(&[0.0, 0.1, 0.2], &[0.0; 3], 0.2)
                .iter()
                .all(|&t| t == 1.0)
        );
    }
}
