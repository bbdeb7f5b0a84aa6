//! Water against other packages' values (tests/reference/water.py) and printed ones.

use approx::assert_abs_diff_eq;
use serde_json::Value;
use truerun::water::{Water, density, index};

fn reference() -> Value {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/water.json");
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

fn rows<'a>(all: &'a Value, key: &str) -> impl Iterator<Item = impl Fn(&str) -> f64 + 'a> {
    let rows = all[key].as_array().unwrap();
    assert!(rows.len() > 10);
    rows.iter()
        .map(|row| move |key: &str| row[key].as_f64().unwrap())
}

/// The whole range at the surface: the code equals EOS-80 by `seawater` 3.3.5 to its digits, and
/// TEOS-10 by `gsw` 3.6.20 within the 0.01 kg/m³ by which the two standards differ.
#[test]
fn density_equals_eos_80_and_nearly_teos_10() {
    let mut most: f64 = 0.0;
    for row in rows(&reference(), "surface") {
        let found = Water::new(row("t"), row("s")).unwrap().density_kg_m3();
        assert_abs_diff_eq!(found, row("eos80"), epsilon = 1e-9);
        assert_abs_diff_eq!(found, row("teos10"), epsilon = 0.01);
        most = most.max((found - row("teos10")).abs());
    }
    println!("EOS-80 leaves TEOS-10 by up to {most:.4} kg/m³");
    for row in rows(&reference(), "deep") {
        let found = density::eos80(row("s"), row("t68"), row("bar"));
        assert_abs_diff_eq!(found, row("eos80"), epsilon = 1e-7);
    }
}

/// `gsw`'s own example: SA 34.7118, CT 28.8099, 10 dbar → 1021.839935738 (computed).
#[test]
fn density_of_the_teos_10_example() {
    let all = reference();
    let of = |key: &str| all["example"][key].as_f64().unwrap();
    assert_abs_diff_eq!(of("rho"), 1_021.839_935_738, epsilon = 1e-9);
    let found = density::eos80(of("s"), density::its90_to_ipts68(of("t")), of("bar"));
    assert_abs_diff_eq!(found, of("rho"), epsilon = 0.01);
}

/// Fresh water by `iapws` 1.5.5 at its own density: the code takes EOS-80's density, which differs by
/// 0.002 kg/m³; index within 1e-6.
#[test]
fn fresh_water_equals_iapws() {
    for row in rows(&reference(), "pure") {
        let water = Water::fresh(row("t"));
        assert_abs_diff_eq!(water.density_kg_m3(), row("rho"), epsilon = 3e-3);
        assert_abs_diff_eq!(
            water.refractive_index(row("um")),
            row("index"),
            epsilon = 1e-6
        );
    }
}

/// 20 °C, 0.101325 MPa, 0.5893 µm: 1.3333491 (computed with `iapws` 1.5.5). Fresh 998.2, sea 1024.76.
#[test]
fn values_for_the_maker() {
    let (fresh, sea) = (Water::fresh(20.0), Water::sea(20.0));
    assert_abs_diff_eq!(fresh.refractive_index(0.5893), 1.333_349_1, epsilon = 1e-6);
    assert_abs_diff_eq!(fresh.density_kg_m3(), 998.2, epsilon = 0.01);
    assert_abs_diff_eq!(sea.density_kg_m3(), 1024.76, epsilon = 0.005);
}

/// Quan & Fry 1995 as a whole is a second, independent formula for fresh water (against air, 1.000277
/// times the vacuum's at 0.55 µm, from memory), fitted to 1.5e-5 with data good to 3e-5. The
/// salt's share comes from the same paper, so this checks the join of the two, not the share itself.
#[test]
fn sea_water_by_a_second_formula() {
    let quan_fry = |t: f64, s: f64, nm: f64| {
        1.31405 + (1.779e-4 - 1.05e-6 * t + 1.6e-8 * t * t) * s - 2.02e-6 * t * t
            + (15.868 + 0.01155 * s - 0.00423 * t) / nm
            - 4382.0 / (nm * nm)
            + 1.1455e6 / nm.powi(3)
    };
    for t in [0.0, 10.0, 20.0, 30.0] {
        for s in [0.0, 15.0, 35.0] {
            for um in [0.45, 0.5893, 0.65] {
                let found = Water::new(t, s).unwrap().refractive_index(um);
                let other = 1.000_277 * quan_fry(t, s, 1000.0 * um);
                assert_abs_diff_eq!(found, other, epsilon = 6e-5);
            }
        }
    }
    assert_eq!(index::salt_share(20.0, 0.0, 0.5893), 0.0);
}
