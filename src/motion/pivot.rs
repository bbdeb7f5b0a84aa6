//! The pivot: the point along the body that moves least sideways at the wobble.

use super::Series;
use super::robust::solve;
use crate::Measured;

/// Standard deviation, in body lengths, of what tracking may add to the middle of the body in step
/// with the wobble (the lip and a leaning back shift the outline).
const OUTLINE_SD: f64 = 0.015;

/// Half-width of the interval beyond which the pivot is not worth telling, body lengths.
const WIDEST: f64 = 0.3;

/// Where the pivot came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Pivot {
    /// Fraction of the body length from the nose, where it can be told.
    pub told: Measured,
    /// Where it came out, be it too near an end, or beyond one, to be told; where that is vague, the end of its interval that
    /// lies toward the nose.
    pub from_nose: Option<f64>,
}

impl Pivot {
    /// None, and why.
    pub fn none(why: &str) -> Pivot {
        Pivot {
            told: Measured::unmeasurable(why),
            from_nose: None,
        }
    }
}

/// Fraction of the body length from the nose at which the body moves least sideways.
///
/// With y the sideways motion of the body's middle and a that of the nose against the tail (both as
/// complex amplitudes at the wobble), the point at fraction s moves by y + (½ − s)·a, least where
/// s = ½ + Re(y·ā)/|a|². Both are lengths across the pull in the picture, which no tilt foreshortens,
/// so neither scale nor tilt enters. `ends_doubt`: how far nose and tail may be off, in parts of the length
/// (half-width of a 95 % interval); the middle is off by half of it.
pub fn pivot(series: &Series, cycles: &[f64], keep: &[bool], ends_doubt: f64) -> Pivot {
    if cycles.len() != series.len() {
        return Pivot::none("no wobble, so no point that keeps still in it");
    }
    let across: Vec<f64> = (0..series.len())
        .map(|i| series.length_px[i] * series.axis_deg[i].to_radians().sin())
        .collect();
    let ways = [&series.picture_sideways_px, &series.sideways_px];
    // Shake spoils one, background errors the other: take the one that tells more.
    let best = ways
        .iter()
        .filter_map(|y| fit(&series.t_s, y, &across, cycles, keep))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    let small = "the body's sway is too small here to tell the point that keeps still";
    match best {
        None => Pivot::none(small),
        Some((s, sd)) if 1.96 * sd >= WIDEST => Pivot {
            from_nose: Some(s - 1.96 * sd),
            ..Pivot::none(small)
        },
        Some((s, sd)) => Pivot {
            told: told(s, (1.96 * sd).hypot(0.5 * ends_doubt)),
            from_nose: Some(s),
        },
    }
}

/// The pivot at the fraction `s` of the body, give or take `half`.
fn told(s: f64, half: f64) -> Measured {
    if s + half < 0.0 || s - half > 1.0 {
        return Measured::unmeasurable(
            "no point of what was followed keeps still, as if only a part of the lure was; give --box round all of it",
        );
    }
    if s - half < 0.0 || s + half > 1.0 {
        return Measured::unmeasurable(
            "the point that keeps still lies too near an end of what was followed to be told from one beyond it",
        );
    }
    Measured::within(s, half)
}

/// Pivot and its standard deviation from one record of the sideways motion.
fn fit(
    t_s: &[f64],
    y: &[f64],
    across: &[f64],
    cycles: &[f64],
    keep: &[bool],
) -> Option<(f64, f64)> {
    let windows = windows(t_s, cycles, keep);
    let each: Vec<(f64, f64)> = windows
        .iter()
        .filter_map(|w| {
            let a = phasor(across, cycles, w)?;
            let m = phasor(y, cycles, w)?;
            let square = a[0] * a[0] + a[1] * a[1];
            (square > 0.0).then(|| (0.5 + (m[0] * a[0] + m[1] * a[1]) / square, square))
        })
        .collect();
    let n = each.len() as f64;
    if n < 3.0 {
        return None;
    }
    let total: f64 = each.iter().map(|e| e.1).sum();
    let s = each.iter().map(|(s, w)| s * w).sum::<f64>() / total;
    let variance = each.iter().map(|(e, w)| (w * (e - s)).powi(2)).sum::<f64>() / total.powi(2) * n
        / (n - 1.0);
    // Few windows know their own scatter badly: widen towards Student's t.
    let few = 1.0 + 2.0 / n;
    Some((s, (variance * few * few + OUTLINE_SD.powi(2)).sqrt()))
}

/// Stretches of about two cycles (at least eight samples) of kept samples.
fn windows(t_s: &[f64], cycles: &[f64], keep: &[bool]) -> Vec<Vec<usize>> {
    let mut all = Vec::new();
    let mut now: Vec<usize> = Vec::new();
    for i in 0..t_s.len() {
        let broken = now.last().is_some_and(|&l| t_s[i] - t_s[l] > 0.2);
        if !keep[i] || broken {
            now.clear();
        }
        if keep[i] {
            now.push(i);
            if cycles[i] - cycles[now[0]] >= 2.0 && now.len() >= 8 {
                all.push(std::mem::take(&mut now));
            }
        }
    }
    all
}

/// Complex amplitude of `y` at the wobble over the samples `w`, with a parabola taken out.
fn phasor(y: &[f64], cycles: &[f64], w: &[usize]) -> Option<[f64; 2]> {
    const N: usize = 5;
    let middle = (cycles[w[0]] + cycles[*w.last()?]) / 2.0;
    let (mut a, mut b) = (vec![0.0; N * N], vec![0.0; N]);
    for &i in w {
        let (sin, cos) = (std::f64::consts::TAU * cycles[i]).sin_cos();
        let u = cycles[i] - middle;
        let f = [cos, sin, 1.0, u, u * u];
        for p in 0..N {
            for q in 0..N {
                a[p * N + q] += f[p] * f[q];
            }
            b[p] += f[p] * y[i];
        }
    }
    let x = solve(a, b)?;
    Some([x[0], x[1]])
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// Six seconds of a body of 60 px that swings by 15 degrees about a point at `from_nose` of its length.
    fn about(from_nose: f64) -> Pivot {
        let t_s: Vec<f64> = (0..180).map(|i| f64::from(i) / 30.0).collect();
        let cycles: Vec<f64> = t_s.iter().map(|t| 4.0 * t).collect();
        let axis_deg: Vec<f64> = cycles.iter().map(|c| 15.0 * (TAU * c).sin()).collect();
        let middle = |a: &f64| (from_nose - 0.5) * 60.0 * a.to_radians().sin();
        let sideways_px: Vec<f64> = axis_deg.iter().map(middle).collect();
        let series = Series {
            length_px: vec![60.0; 180],
            picture_sideways_px: sideways_px.clone(),
            sideways_px,
            axis_deg,
            t_s,
            ..Series::default()
        };
        pivot(&series, &cycles, &[true; 180], 0.16)
    }

    #[test]
    fn the_point_that_keeps_still_is_told_where_it_surely_lies_on_the_body() {
        for from_nose in [0.3, 0.4, 0.6] {
            let told = about(from_nose).told;
            assert!((told.value.unwrap() - from_nose).abs() < 0.01, "{told:?}");
        }
        for from_nose in [-0.3, 0.03, 0.98, 1.4] {
            let pivot = about(from_nose);
            assert!(pivot.told.value.is_none(), "{from_nose}");
            let came_out = pivot.from_nose.unwrap();
            assert!((came_out - from_nose).abs() < 0.01, "{came_out}");
        }
    }
}
