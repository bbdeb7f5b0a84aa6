//! Body coordinates laid over the samples of a window.

use super::pose::Pose;
use super::window::Window;

/// Body coordinates `[u, v]` of every sample of a window under one pose: they grow evenly with column and row.
pub struct Lay {
    first: [f64; 2],
    per_column: [f64; 2],
    per_row: [f64; 2],
    columns: usize,
}

impl Lay {
    /// Lays the body frame of `pose` over a window.
    pub fn of(window: &Window, pose: &Pose) -> Lay {
        let (f, r) = (pose.forward(), pose.rightward());
        let [right, down] = window.step_px;
        Lay {
            first: pose.body_point(window.point(0, 0)),
            per_column: [right * f[0] / pose.along_px, right * r[0] / pose.across_px],
            per_row: [down * f[1] / pose.along_px, down * r[1] / pose.across_px],
            columns: window.columns,
        }
    }

    /// Body coordinates of a sample.
    #[inline]
    pub fn at(&self, column: usize, row: usize) -> [f64; 2] {
        let (i, j) = (column as f64, row as f64);
        [0, 1].map(|k| self.first[k] + i * self.per_column[k] + j * self.per_row[k])
    }

    /// First and last column of a row that lie within an extent of u and of v.
    pub fn columns_within(&self, row: usize, extent: [[f64; 2]; 2]) -> Option<(usize, usize)> {
        let start = self.at(0, row);
        let [u, v] = [0, 1].map(|k| crossing(start[k], self.per_column[k], extent[k]));
        let first = u.0.max(v.0).max(0.0).ceil();
        let last = u.1.min(v.1).min(self.columns as f64 - 1.0).floor();
        (first <= last).then_some((first as usize, last as usize))
    }
}

/// Where a coordinate that is `at` in column 0 and grows by `step` a column lies within `reach`.
fn crossing(at: f64, step: f64, [low, high]: [f64; 2]) -> (f64, f64) {
    if step.abs() < 1e-9 {
        let inside = (low..=high).contains(&at);
        return if inside {
            (f64::NEG_INFINITY, f64::INFINITY)
        } else {
            (f64::INFINITY, f64::NEG_INFINITY)
        };
    }
    let (a, b) = ((low - at) / step, (high - at) / step);
    (a.min(b), a.max(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_of_columns_is_where_the_coordinate_lies_within_its_reach() {
        assert_eq!(crossing(-1.0, 0.1, [-0.5, 0.5]), (5.0, 15.0));
        assert_eq!(crossing(1.0, -0.25, [-0.5, 0.5]), (2.0, 6.0));
        let (from, to) = crossing(0.7, 0.0, [-0.5, 0.5]);
        assert!(from > to);
    }

    #[test]
    fn it_agrees_with_the_pose_at_every_sample() {
        let window = Window {
            corner_px: [20.0, 40.0],
            step_px: [1.5, 1.4],
            columns: 30,
            rows: 20,
            luma: Vec::new(),
            cb: Vec::new(),
            cr: Vec::new(),
        };
        let pose = Pose {
            x_px: 41.0,
            y_px: 53.0,
            axis_rad: 0.7,
            along_px: 22.0,
            across_px: 19.0,
        };
        let lay = Lay::of(&window, &pose);
        let extent = [[-0.4, 0.5], [-0.2, 0.2]];
        for row in 0..window.rows {
            let within = lay.columns_within(row, extent);
            for column in 0..window.columns {
                let [u, v] = pose.body_point(window.point(column, row));
                let laid = lay.at(column, row);
                assert!((laid[0] - u).abs() < 1e-9 && (laid[1] - v).abs() < 1e-9);
                let inside = (-0.4..=0.5).contains(&u) && (-0.2..=0.2).contains(&v);
                assert_eq!(
                    within.is_some_and(|(a, b)| (a..=b).contains(&column)),
                    inside
                );
            }
        }
    }
}
