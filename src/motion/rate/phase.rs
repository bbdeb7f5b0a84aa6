//! Phase over time, as a polyline.

/// Phase in cycles at rising times, straight in between and beyond.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Phase {
    /// Times, s.
    pub t_s: Vec<f64>,
    /// Phase there, cycles.
    pub cycles: Vec<f64>,
}

impl Phase {
    /// A steady rate between two times.
    pub(super) fn steady(hz: f64, from_s: f64, to_s: f64) -> Phase {
        Phase {
            t_s: vec![from_s, to_s],
            cycles: vec![hz * from_s, hz * to_s],
        }
    }

    /// Phase at `t`, cycles; 0 for an empty phase.
    pub fn at(&self, t: f64) -> f64 {
        self.piece(t)
            .map_or(0.0, |(t0, c0, slope)| c0 + slope * (t - t0))
    }

    /// Rate at `t`, Hz; 0 for an empty phase.
    pub fn rate_at(&self, t: f64) -> f64 {
        self.piece(t).map_or(0.0, |(_, _, slope)| slope)
    }

    /// Mean rate between two times, Hz: cycles counted over time.
    pub fn mean_rate(&self, from_s: f64, to_s: f64) -> f64 {
        (self.at(to_s) - self.at(from_s)) / (to_s - from_s)
    }

    fn piece(&self, t: f64) -> Option<(f64, f64, f64)> {
        let n = self.t_s.len();
        if n < 2 {
            return None;
        }
        let right = self.t_s.partition_point(|&x| x <= t).clamp(1, n - 1);
        let (t0, t1) = (self.t_s[right - 1], self.t_s[right]);
        let (c0, c1) = (self.cycles[right - 1], self.cycles[right]);
        Some((t0, c0, (c1 - c0) / (t1 - t0)))
    }
}
