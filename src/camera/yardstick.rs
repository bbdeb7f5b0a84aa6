//! Something of known size in the picture: a ruler that the user marked, or a board of squares.

use nalgebra::{Matrix3, SMatrix};

use crate::{Error, Result};

/// How far off an end of a ruler may be that was marked by hand, px (half-width of a 95 % interval).
pub const CLICK_PX: f64 = 1.0;
/// The same for a corner of a board found in the picture. Corners found in OpenCV's public photographs lie
/// 0.2–0.4 px RMS off the fitted board (their published reprojection errors).
const CORNER_PX: f64 = 0.5;
/// A shorter ruler tells no scale, px.
const SHORTEST_PX: f64 = 10.0;

/// A line of known length in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ruler {
    /// One end, px of the displayed picture.
    pub from: [f64; 2],
    /// The other end, px.
    pub to: [f64; 2],
    /// Length, mm.
    pub mm: f64,
}

/// How a board of squares is ruled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Board {
    /// Squares along one side (not the corners between them).
    pub columns: usize,
    /// Squares along the other side.
    pub rows: usize,
    /// Side of a square, mm; `None` where it does not matter.
    pub square_mm: Option<f64>,
}

/// A board of squares found in the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardSeen {
    /// How it is ruled.
    pub board: Board,
    /// Its inner corners row by row, px of the displayed picture: (columns − 1) × (rows − 1) of them.
    pub corners: Vec<[f64; 2]>,
}

/// Something of known size in the picture.
#[derive(Debug, Clone, PartialEq)]
pub enum Yardstick {
    /// A ruler marked by the user.
    Ruler(Ruler),
    /// A board of squares found in the picture.
    Board(BoardSeen),
}

/// A scale where the yardstick lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PxScale {
    /// mm per px across the line of sight.
    pub mm_per_px: f64,
    /// Half-width of its 95 % interval, as a part of it.
    pub doubt: f64,
}

impl Ruler {
    /// Length in the picture, px.
    pub fn length_px(&self) -> f64 {
        (self.to[0] - self.from[0]).hypot(self.to[1] - self.from[1])
    }

    /// How far it lies off level in the picture, degrees, 0 to 90.
    pub fn off_level_deg(&self) -> f64 {
        let (dx, dy) = (self.to[0] - self.from[0], self.to[1] - self.from[1]);
        dy.abs().atan2(dx.abs()).to_degrees()
    }

    /// Refuses a ruler that does not lie in a picture of this size (px), or is too short to tell a scale.
    /// `option` is how the user wrote it.
    ///
    /// # Errors
    /// [`Error::Setting`].
    pub fn check_inside(&self, option: &str, width: u32, height: u32) -> Result<()> {
        [self.from, self.to]
            .iter()
            .try_for_each(|p| check_point(option, *p, width, height))?;
        if self.length_px() < SHORTEST_PX {
            return Err(Error::setting(
                option,
                format!(
                    "is only {:.0} px long, too short to tell a scale",
                    self.length_px()
                ),
                format!("mark both its ends, at least {SHORTEST_PX:.0} px apart"),
            ));
        }
        Ok(())
    }

    /// Its scale: both ends are off by up to [`CLICK_PX`] on their own.
    pub fn scale(&self) -> PxScale {
        let px = self.length_px();
        PxScale {
            mm_per_px: self.mm / px,
            doubt: CLICK_PX * std::f64::consts::SQRT_2 / px,
        }
    }
}

/// Refuses a point outside a picture of this size (px).
///
/// # Errors
/// [`Error::Setting`] for `option`.
pub fn check_point(option: &str, [x, y]: [f64; 2], width: u32, height: u32) -> Result<()> {
    let inside = (0.0..=f64::from(width)).contains(&x) && (0.0..=f64::from(height)).contains(&y);
    if inside {
        return Ok(());
    }
    Err(Error::setting(
        option,
        format!("the point {x},{y} lies outside the picture, which is {width} × {height}"),
        "give pixels of the picture as it is shown, from its upper left corner",
    ))
}

impl Board {
    /// Inner corners along the two sides.
    pub fn corners(&self) -> [usize; 2] {
        [self.columns - 1, self.rows - 1]
    }

    /// Where the inner corners lie on the board, row by row, in squares.
    pub fn grid(&self) -> Vec<[f64; 2]> {
        let [along, down] = self.corners();
        (0..down)
            .flat_map(|r| (0..along).map(move |c| [c as f64, r as f64]))
            .collect()
    }
}

impl BoardSeen {
    /// Its scale at its middle across the line of sight, where its squares have a size and it is not seen
    /// from its edge. A board that leans away is foreshortened in one direction only: the other tells.
    pub fn scale(&self) -> Option<PxScale> {
        let square_mm = self.board.square_mm?;
        let map = homography(&self.board.grid(), &self.corners)?;
        let [along, down] = self.board.corners().map(|n| (n - 1) as f64);
        let [longest, shortest] = stretch(&map, [along / 2.0, down / 2.0])?;
        if shortest < 0.1 * longest {
            return None;
        }
        let side_px = longest * along.min(down).max(1.0);
        // Corners err on their own; of each of the two sides there are several.
        let lines = (along.max(down) + 1.0).sqrt();
        Some(PxScale {
            mm_per_px: square_mm / longest,
            doubt: CORNER_PX * std::f64::consts::SQRT_2 / (side_px * lines),
        })
    }
}

impl Yardstick {
    /// Its scale across the line of sight; `None` for a board without a size or seen from its edge.
    pub fn scale(&self) -> Option<PxScale> {
        match self {
            Yardstick::Ruler(ruler) => Some(ruler.scale()),
            Yardstick::Board(board) => board.scale(),
        }
    }

    /// The same yardstick with every picture point mapped by `map` (a lens taken out). `None` where a point
    /// cannot be mapped.
    pub fn mapped(&self, map: impl Fn([f64; 2]) -> Option<[f64; 2]>) -> Option<Yardstick> {
        match self {
            Yardstick::Ruler(ruler) => Some(Yardstick::Ruler(Ruler {
                from: map(ruler.from)?,
                to: map(ruler.to)?,
                ..*ruler
            })),
            Yardstick::Board(seen) => Some(Yardstick::Board(BoardSeen {
                corners: seen
                    .corners
                    .iter()
                    .map(|p| map(*p))
                    .collect::<Option<_>>()?,
                ..seen.clone()
            })),
        }
    }

    /// "ruler" or "board".
    pub fn word(&self) -> &'static str {
        match self {
            Yardstick::Ruler(_) => "ruler",
            Yardstick::Board(_) => "board",
        }
    }
}

/// The homography that takes `from` to `to`: the direct linear transform on centred, scaled points
/// (Hartley & Zisserman, Multiple View Geometry, from memory). `None` where the points do not settle it.
fn homography(from: &[[f64; 2]], to: &[[f64; 2]]) -> Option<Matrix3<f64>> {
    if from.len() != to.len() || from.len() < 4 {
        return None;
    }
    let (a, b) = (evened(from)?, evened(to)?);
    let mut normal = SMatrix::<f64, 9, 9>::zeros();
    for (p, q) in from.iter().zip(to) {
        let ([x, y], [u, v]) = (moved(&a, *p), moved(&b, *q));
        for row in [
            [x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u],
            [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v],
        ] {
            let row = SMatrix::<f64, 1, 9>::from_row_slice(&row);
            normal += row.transpose() * row;
        }
    }
    let eigen = normal.symmetric_eigen();
    let least = eigen.eigenvalues.imin();
    let h = eigen.eigenvectors.column(least);
    let h = Matrix3::from_row_slice(h.as_slice());
    Some(b.try_inverse()? * h * a)
}

/// The similarity that brings points about the origin at a mean distance of √2.
fn evened(points: &[[f64; 2]]) -> Option<Matrix3<f64>> {
    let n = points.len() as f64;
    let middle = [0, 1].map(|k| points.iter().map(|p| p[k]).sum::<f64>() / n);
    let away = |p: &[f64; 2]| (p[0] - middle[0]).hypot(p[1] - middle[1]);
    let scale = std::f64::consts::SQRT_2 * n / points.iter().map(away).sum::<f64>();
    scale.is_finite().then(|| {
        Matrix3::new(
            scale,
            0.0,
            -scale * middle[0],
            0.0,
            scale,
            -scale * middle[1],
            0.0,
            0.0,
            1.0,
        )
    })
}

fn moved(map: &Matrix3<f64>, [x, y]: [f64; 2]) -> [f64; 2] {
    let p = map * nalgebra::Vector3::new(x, y, 1.0);
    [p[0] / p[2], p[1] / p[2]]
}

/// Greatest and least px per unit of the board at the board's point `at`.
fn stretch(map: &Matrix3<f64>, at: [f64; 2]) -> Option<[f64; 2]> {
    const STEP: f64 = 1e-4;
    let slope = |d: [f64; 2]| {
        let ahead = moved(map, [at[0] + d[0], at[1] + d[1]]);
        let back = moved(map, [at[0] - d[0], at[1] - d[1]]);
        [0, 1].map(|k| (ahead[k] - back[k]) / (2.0 * STEP))
    };
    let (x, y) = (slope([STEP, 0.0]), slope([0.0, STEP]));
    let jacobian = nalgebra::Matrix2::new(x[0], y[0], x[1], y[1]);
    let values = jacobian.singular_values();
    let [longest, shortest] = [values.max(), values.min()];
    longest.is_finite().then_some([longest, shortest])
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_ruler_tells_its_scale_and_doubt() {
        let ruler = Ruler {
            from: [100.0, 100.0],
            to: [400.0, 500.0],
            mm: 300.0,
        };
        let scale = ruler.scale();
        assert_abs_diff_eq!(scale.mm_per_px, 0.6, epsilon = 1e-12);
        assert_abs_diff_eq!(scale.doubt, 2f64.sqrt() / 500.0, epsilon = 1e-12);
    }

    #[test]
    fn rulers_that_cannot_be_meant() {
        let ruler = |to: [f64; 2]| Ruler {
            from: [10.0, 10.0],
            to,
            mm: 100.0,
        };
        assert!(
            ruler([10.0, 10.0])
                .check_inside("--ruler", 640, 360)
                .is_err()
        );
        assert!(
            ruler([700.0, 10.0])
                .check_inside("--ruler", 640, 360)
                .is_err()
        );
        assert!(
            ruler([f64::NAN, 10.0])
                .check_inside("--ruler", 640, 360)
                .is_err()
        );
        assert!(
            ruler([600.0, 10.0])
                .check_inside("--ruler", 640, 360)
                .is_ok()
        );
    }

    /// A board seen by a bare pinhole camera written here alone: it leans back by `lean` about its middle
    /// row, 800 mm away.
    fn leaning(lean_deg: f64, square_mm: f64) -> BoardSeen {
        let board = Board {
            columns: 8,
            rows: 6,
            square_mm: Some(square_mm),
        };
        let (sin, cos) = lean_deg.to_radians().sin_cos();
        let corners = board
            .grid()
            .iter()
            .map(|[c, r]| {
                let (x, y) = ((c - 3.0) * square_mm, (r - 2.0) * square_mm);
                let depth = 800.0 + y * sin;
                [320.0 + 600.0 * x / depth, 180.0 + 600.0 * y * cos / depth]
            })
            .collect();
        BoardSeen { board, corners }
    }

    #[test]
    fn a_board_tells_the_scale_whether_it_leans_or_not() {
        for lean in [0.0, 20.0, -35.0, 60.0] {
            let scale = leaning(lean, 25.0).scale().unwrap();
            assert_abs_diff_eq!(scale.mm_per_px, 800.0 / 600.0, epsilon = 1e-3);
            assert!(scale.doubt < 0.01);
        }
        assert_eq!(leaning(88.0, 25.0).scale(), None);
    }

    #[test]
    fn a_board_without_a_size_has_no_scale() {
        let mut seen = leaning(10.0, 25.0);
        seen.board.square_mm = None;
        assert_eq!(seen.scale(), None);
    }
}
