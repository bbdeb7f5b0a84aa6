//! Against values from outside: standards and SciPy.

use truerun::motion::thump::{octaves, weighting, welch};

/// ISO 8041-1:2017 annex B design factors as transcribed in tests/reference (see its README).
#[test]
fn wh_factors_of_the_standard() {
    let table = include_str!("../reference/iso8041_1_2017_Wh_annexB.csv");
    for line in table.lines().skip(1) {
        let cells: Vec<f64> = line.split(',').map(|c| c.parse().unwrap()).collect();
        let (hz, factor) = (10f64.powf(cells[0] / 10.0), cells[2]);
        let ours = weighting::wh(hz);
        assert!(
            (ours / factor - 1.0).abs() < 1e-3,
            "{hz}: {ours} for {factor}"
        );
    }
}

/// ISO 5349-1 factors from an extract of the standard; the filter meets all within 0.32 %.
#[test]
fn wh_factors_of_iso_5349() {
    for (hz, factor) in [
        (6.3, 0.727),
        (8.0, 0.873),
        (10.0, 0.951),
        (12.5, 0.958),
        (16.0, 0.896),
        (20.0, 0.782),
        (25.0, 0.647),
        (31.5, 0.519),
        (40.0, 0.411),
        (50.0, 0.324),
        (100.0, 0.160),
    ] {
        let exact = 10f64.powf((10.0 * f64::log10(hz)).round() / 10.0);
        assert!((weighting::wh(exact) / factor - 1.0).abs() < 3.5e-3, "{hz}");
    }
}

/// IEC 61260-1 exact midbands (base ten) belong to these nominal ones (from memory).
#[test]
fn midbands_of_iec_61260() {
    let nominal = [
        1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 12.5, 16.0, 20.0, 25.0, 31.5,
        40.0, 50.0, 63.0, 80.0, 100.0,
    ];
    for (n, nominal) in nominal.into_iter().enumerate() {
        let exact = octaves::midband_hz(n as i32);
        assert!((exact / nominal - 1.0).abs() < 0.013, "{exact} {nominal}");
        assert!((octaves::nominal_hz(exact) - nominal).abs() < 1e-9);
    }
    let [lo, hi] = octaves::edges_hz(10.0);
    assert!((hi / lo - 10f64.powf(0.1)).abs() < 1e-12);
    assert!(
        (lo - 8.912_509_381_337_454).abs() < 1e-9,
        "10 · 10^(−0.05): {lo}"
    );
    assert!((hi - octaves::edges_hz(octaves::midband_hz(11))[0]).abs() < 1e-12);
}

/// `scipy.signal.welch` and `spectrogram` on the same series (tests/reference/welch.py).
#[test]
fn spectra_are_scipys() {
    let made: serde_json::Value =
        serde_json::from_str(include_str!("../reference/welch.json")).unwrap();
    let list = |key: &str| -> Vec<f64> { serde_json::from_value(made[key].clone()).unwrap() };
    let length = made["length"].as_u64().unwrap() as usize;
    let spectra = welch::spectrogram(&list("values"), made["hz"].as_f64().unwrap(), length);
    let near = |ours: &[f64], theirs: &[f64]| {
        assert_eq!(ours.len(), theirs.len());
        for (a, b) in ours.iter().zip(theirs) {
            assert!((a - b).abs() < 1e-9 * (1.0 + b.abs()), "{a} {b}");
        }
    };
    near(&spectra.t_s, &list("times"));
    near(&welch::mean_density(&spectra), &list("welch"));
    near(&spectra.density[3], &list("third"));
    assert!((spectra.step_hz - made["step_hz"].as_f64().unwrap()).abs() < 1e-12);
}

/// A tone's power lies in its own band: Parseval.
#[test]
fn a_tone_in_its_band() {
    let tone: Vec<f64> = (0..20_000)
        .map(|i| (std::f64::consts::TAU * 5.0 * f64::from(i) / 200.0).sin())
        .collect();
    let spectra = welch::spectrogram(&tone, 200.0, 800);
    let bands = octaves::levels(&welch::mean_density(&spectra), spectra.step_hz, 80.0);
    let of = |hz: f64| {
        bands
            .iter()
            .find(|b| (b.mid_hz / hz - 1.0).abs() < 0.05)
            .unwrap()
            .rms
    };
    assert!((of(5.0) - 0.5f64.sqrt()).abs() < 0.005, "{}", of(5.0));
    assert!(of(10.0) < 0.01 && of(2.5) < 0.01);
}
