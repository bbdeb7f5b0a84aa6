//! Welch's t and the two one-sided tests against SciPy and statsmodels (`tests/reference/compare.py`).

use approx::assert_relative_eq;
use serde::Deserialize;
use truerun::tuning::compare;

#[derive(Deserialize)]
struct Case {
    a: Vec<f64>,
    b: Vec<f64>,
    within: f64,
    p_different: f64,
    ci95: [f64; 2],
    p_same: f64,
}

#[test]
fn as_scipy_and_statsmodels() {
    let cases: Vec<Case> = serde_json::from_str(include_str!("../reference/compare.json")).unwrap();
    assert!(cases.len() >= 8);
    for case in cases {
        let found = compare(&case.a, &case.b, case.within).unwrap();
        assert_relative_eq!(
            found.p_different.unwrap(),
            case.p_different,
            max_relative = 1e-6,
            epsilon = 1e-9
        );
        assert_relative_eq!(
            found.p_same.unwrap(),
            case.p_same,
            max_relative = 1e-6,
            epsilon = 1e-9
        );
        let ci = found.difference.ci95.unwrap();
        for (found, want) in ci.iter().zip(case.ci95) {
            assert_relative_eq!(*found, want, max_relative = 1e-6, epsilon = 1e-7);
        }
    }
}
