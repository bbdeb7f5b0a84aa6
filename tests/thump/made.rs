//! Made-up pulls with known truth.

use super::support::Dice;
use std::f64::consts::TAU;
use std::fmt::Write;
use truerun::media::{Carrier, Recording, Source, Strip, Unit};

/// A steady pull: m/s² along a slanted direction, gravity on z, white noise on each axis.
pub struct Pull {
    pub hz: f64,
    pub peak: f64,
    pub noise: f64,
    pub rows_hz: f64,
    pub seconds: f64,
    pub number: u64,
}

/// Direction of the thump in the made pulls, a unit vector.
pub const DIRECTION: [f64; 3] = [0.36, 0.48, 0.8];

impl Default for Pull {
    fn default() -> Self {
        Pull {
            hz: 4.6,
            peak: 1.5,
            noise: 0.3,
            rows_hz: 100.0,
            seconds: 20.0,
            number: 1,
        }
    }
}

impl Pull {
    /// Time and three axes in m/s².
    pub fn rows(&self) -> Vec<(f64, [f64; 3])> {
        let mut dice = Dice::new(self.number);
        let start = dice.between(0.0, 1.0);
        (0..(self.seconds * self.rows_hz) as usize)
            .map(|i| {
                let t = i as f64 / self.rows_hz;
                let wave = self.peak * (TAU * (self.hz * t + start)).sin();
                let mut axes = DIRECTION.map(|d| d * wave + self.noise * dice.normal());
                axes[2] += 9.80665;
                (t, axes)
            })
            .collect()
    }

    /// The rows as a plain CSV file in m/s².
    pub fn csv(&self) -> String {
        let mut text = "time_s,acc_x (m/s2),acc_y (m/s2),acc_z (m/s2)\n".to_string();
        for (t, [x, y, z]) in self.rows() {
            writeln!(text, "{t:.6},{x:.5},{y:.5},{z:.5}").unwrap();
        }
        text
    }

    /// The rows as a recording, without a file.
    pub fn recording(&self) -> Recording {
        let rows = self.rows();
        let strip = |k: usize| Strip {
            name: ["x", "y", "z"][k].into(),
            carrier: Carrier::Axis,
            values: rows.iter().map(|r| r.1[k] as f32).collect(),
        };
        Recording {
            file: "made".into(),
            sha256: None,
            source: Source::Log,
            rows: rows.len(),
            recorded_hz: self.rows_hz,
            passband_hz: 0.5 * self.rows_hz,
            clock_doubt: 0.0,
            start_doubt_s: 0.0,
            t_s: rows.iter().map(|r| r.0).collect(),
            strips: (0..3).map(strip).collect(),
            unit: Unit::MetresPerSecond2,
            unit_from: "made",
            time_from: "made".into(),
            warnings: vec![],
        }
    }
}
