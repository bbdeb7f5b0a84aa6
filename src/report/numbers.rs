//! Numbers as they are shown and stored: rounded sensibly, never "NaN".

/// For a file: four decimals, `None` where there is no finite number.
pub fn stored(x: Option<f64>) -> Option<f64> {
    // Adding zero turns -0.0 into 0.0.
    x.filter(|x| x.is_finite())
        .map(|x| (x * 1e4).round() / 1e4 + 0.0)
}

/// Both ends for a file, `None` unless both are finite.
pub fn stored_pair(ends: Option<[f64; 2]>) -> Option<[f64; 2]> {
    let [lo, hi] = ends?;
    Some([stored(Some(lo))?, stored(Some(hi))?])
}

/// Decimals worth showing of a figure with this interval: up to the first digit of its half-width, or
/// the second where the first is a 1.
pub fn decimals(ci95: Option<[f64; 2]>) -> usize {
    let half = ci95.map_or(f64::NAN, |[lo, hi]| (hi - lo) / 2.0);
    if half > 0.0 && half.is_finite() {
        (-(half / 1.9).log10()).ceil().clamp(0.0, 3.0) as usize
    } else {
        2
    }
}

/// A number with a true minus sign and no "-0".
pub fn shown(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    let digits = text.trim_start_matches('-');
    let is_zero = digits.chars().all(|c| matches!(c, '0' | '.'));
    match text.starts_with('-') && !is_zero {
        true => format!("−{digits}"),
        false => digits.to_string(),
    }
}

/// "2.6–3.4", or "−0.4 to 0.6" where a sign would run into the dash.
pub fn shown_range([lo, hi]: [f64; 2], decimals: usize) -> String {
    let link = if lo < 0.0 || hi < 0.0 { " to " } else { "–" };
    format!("{}{link}{}", shown(lo, decimals), shown(hi, decimals))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_but_numbers_is_stored() {
        assert_eq!(stored(Some(f64::NAN)), None);
        assert_eq!(stored(Some(f64::INFINITY)), None);
        assert_eq!(stored_pair(Some([1.0, f64::NAN])), None);
        assert_eq!(stored(Some(1.234_56)), Some(1.2346));
        assert!(stored(Some(-0.000_01)).unwrap().is_sign_positive());
    }

    #[test]
    fn decimals_follow_the_interval() {
        assert_eq!(decimals(Some([4.55, 4.63])), 2);
        assert_eq!(decimals(Some([2.6, 3.4])), 1);
        assert_eq!(decimals(Some([0.1, 0.3])), 2);
        assert_eq!(decimals(Some([40.0, 60.0])), 0);
        assert_eq!(decimals(Some([1.0, 1.0])), 2);
        assert_eq!(decimals(None), 2);
    }

    #[test]
    fn signs_are_readable() {
        assert_eq!(shown(-3.04, 1), "−3.0");
        assert_eq!(shown(-0.01, 1), "0.0");
        assert_eq!(shown_range([2.6, 3.4], 1), "2.6–3.4");
        assert_eq!(shown_range([-0.4, 0.6], 1), "−0.4 to 0.6");
    }
}
