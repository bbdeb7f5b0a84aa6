//! Boards drawn through lenses of known figures, by a ray per sample, written apart from the code under test.

use std::path::{Path, PathBuf};

use opencv::core::{CV_8UC1, Mat, MatTrait, Vector};
use opencv::imgcodecs;
use truerun::camera::Board;
use truerun::camera::calibrate::{self, LensPictures};

pub const COLUMNS: usize = 9;
pub const ROWS: usize = 6;
const SQUARE: f64 = 25.0;
/// Samples along each side of a pixel.
const FINE: usize = 4;

/// A lens: focal length, centre (px, the first pixel's centre at 0.5), k1, k2, p1.
#[derive(Clone, Copy)]
pub struct Drawn {
    pub size: [usize; 2],
    pub focal: f64,
    pub centre: [f64; 2],
    pub k1: f64,
    pub k2: f64,
    pub p1: f64,
}

pub const PHONE: Drawn = Drawn {
    size: [640, 360],
    focal: 520.0,
    centre: [326.0, 176.0],
    k1: -0.18,
    k2: 0.05,
    p1: 0.001,
};

impl Drawn {
    /// Ray of a picture point: the model is undone by plain repetition, x ← x' / radial.
    fn ray(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        let aim = [
            (u - self.centre[0]) / self.focal,
            (v - self.centre[1]) / self.focal,
        ];
        let [mut x, mut y] = aim;
        for _ in 0..25 {
            let r2 = x * x + y * y;
            let radial = 1.0 + self.k1 * r2 + self.k2 * r2 * r2;
            x = (aim[0] - 2.0 * self.p1 * x * y) / radial;
            y = (aim[1] - self.p1 * (r2 + 2.0 * y * y)) / radial;
        }
        [x, y]
    }

    /// Rays of the samples of every pixel, row by row: [`FINE`] × [`FINE`] of them each.
    fn rays(&self) -> Vec<[f64; 2]> {
        let [width, height] = self.size;
        let part = |k: usize| (k as f64 + 0.5) / FINE as f64;
        (0..height * width * FINE * FINE)
            .map(|i| {
                let (pixel, k) = (i / (FINE * FINE), i % (FINE * FINE));
                self.ray([
                    (pixel % width) as f64 + part(k % FINE),
                    (pixel / width) as f64 + part(k / FINE),
                ])
            })
            .collect()
    }

    /// The picture of a board turned by `turn` (degrees about x, then y, then z) with its middle at `at`, mm.
    fn picture(&self, rays: &[[f64; 2]], turn: [f64; 3], at: [f64; 3]) -> Mat {
        let rows = turned(turn);
        let column = |c: usize| [rows[0][c], rows[1][c], rows[2][c]];
        let (along, down, normal) = (column(0), column(1), column(2));
        let reach = dot(normal, at);
        let [width, height] = self.size.map(|s| s as i32);
        let mut picture =
            Mat::new_rows_cols_with_default(height, width, CV_8UC1, 0.0.into()).unwrap();
        for (pixel, samples) in rays.chunks(FINE * FINE).enumerate() {
            let sum: f64 = samples
                .iter()
                .map(|[x, y]| {
                    let ray = [*x, *y, 1.0];
                    let far = reach / dot(normal, ray);
                    let p = [0, 1, 2].map(|i| ray[i] * far - at[i]);
                    shade(dot(along, p) / SQUARE, dot(down, p) / SQUARE)
                })
                .sum();
            let (row, column) = (pixel as i32 / width, pixel as i32 % width);
            *picture.at_2d_mut::<u8>(row, column).unwrap() =
                (sum / (FINE * FINE) as f64).round() as u8;
        }
        picture
    }
}

/// Brightness of the board at a point, in squares from its middle: a pale rim, then grey.
fn shade(x: f64, y: f64) -> f64 {
    let (x, y) = (x + COLUMNS as f64 / 2.0, y + ROWS as f64 / 2.0);
    let on = |v: f64, n: usize, rim: f64| v > -rim && v < n as f64 + rim;
    if on(x, COLUMNS, 0.0) && on(y, ROWS, 0.0) {
        if (x.floor() + y.floor()) as i64 % 2 == 0 {
            35.0
        } else {
            215.0
        }
    } else if on(x, COLUMNS, 0.8) && on(y, ROWS, 0.8) {
        215.0
    } else {
        120.0
    }
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Rotation matrix, rows first.
fn turned([x, y, z]: [f64; 3]) -> [[f64; 3]; 3] {
    let (sx, cx) = x.to_radians().sin_cos();
    let (sy, cy) = y.to_radians().sin_cos();
    let (sz, cz) = z.to_radians().sin_cos();
    [
        [cy * cz, sx * sy * cz - cx * sz, cx * sy * cz + sx * sz],
        [cy * sz, sx * sy * sz + cx * cz, cx * sy * sz - sx * cz],
        [-sy, sx * cy, cx * cy],
    ]
}

/// A dozen ways to hold the board.
pub const POSES: [([f64; 3], [f64; 3]); 12] = [
    ([0.0, 0.0, 0.0], [0.0, 0.0, 420.0]),
    ([30.0, 0.0, 5.0], [-20.0, 10.0, 430.0]),
    ([-32.0, 5.0, -8.0], [25.0, -12.0, 440.0]),
    ([4.0, 35.0, 3.0], [10.0, 5.0, 420.0]),
    ([-5.0, -35.0, 0.0], [-15.0, 8.0, 430.0]),
    ([20.0, 22.0, 12.0], [-140.0, -68.0, 510.0]),
    ([-18.0, 25.0, -15.0], [140.0, -62.0, 520.0]),
    ([22.0, -24.0, 9.0], [-138.0, 62.0, 520.0]),
    ([-25.0, -20.0, -4.0], [136.0, 64.0, 510.0]),
    ([35.0, 10.0, 30.0], [0.0, 0.0, 480.0]),
    ([10.0, -30.0, -30.0], [-30.0, 20.0, 470.0]),
    ([-12.0, 14.0, 2.0], [20.0, -8.0, 390.0]),
];

/// Draws the board in `poses` into `folder`.
pub fn photos(folder: &Path, lens: Drawn, poses: &[([f64; 3], [f64; 3])]) -> Vec<PathBuf> {
    let rays = lens.rays();
    poses
        .iter()
        .enumerate()
        .map(|(i, (turn, at))| {
            let path = folder.join(format!("board{i:02}.png"));
            let picture = lens.picture(&rays, *turn, *at);
            imgcodecs::imwrite(&path, &picture, &Vector::new()).unwrap();
            path
        })
        .collect()
}

pub fn board() -> Board {
    Board {
        columns: COLUMNS,
        rows: ROWS,
        square_mm: None,
    }
}

/// Every figure within three of its standard deviations and the focal length within 0.3 %.
#[test]
fn a_drawn_lens_is_found_again() {
    let folder = tempfile::tempdir().unwrap();
    let pictures = LensPictures {
        files: photos(folder.path(), PHONE, &POSES),
        board: board(),
        under_water: false,
    };
    let made = calibrate::calibrate(&pictures, &mut |_| {}).unwrap();
    let (lens, sd) = (made.lens.lens, made.lens.sd);
    eprintln!("{:?}", made.lens);
    assert!((lens.fx / PHONE.focal - 1.0).abs() < 3e-3, "{}", lens.fx);
    let pairs = [
        (lens.fx, PHONE.focal, sd.fx),
        (lens.fy, PHONE.focal, sd.fy),
        (lens.cx, PHONE.centre[0], sd.cx),
        (lens.cy, PHONE.centre[1], sd.cy),
        (lens.k1, PHONE.k1, sd.k1),
        (lens.p1, PHONE.p1, sd.p1),
        (lens.p2, 0.0, sd.p2),
    ];
    for (k, (is, truth, sd)) in pairs.into_iter().enumerate() {
        assert!((is - truth).abs() < 3.0 * sd, "{k}: {is} {truth} ± {sd}");
    }
    assert!(made.lens.rms_px < 0.15, "{}", made.lens.rms_px);
    // What counts in the end: angles between lines of sight. (Where the axis lies trades against how the
    // board was turned, and matters little.)
    let places = [[120.0, 80.0], [530.0, 80.0], [320.0, 300.0], [120.0, 280.0]];
    let angle = |a: [f64; 2], b: [f64; 2]| {
        let (a, b) = ([a[0], a[1], 1.0], [b[0], b[1], 1.0]);
        (dot(a, b) / (dot(a, a) * dot(b, b)).sqrt()).acos()
    };
    for (i, p) in places.iter().enumerate() {
        assert!(made.lens.reach(*p) < made.lens.seen_to);
        for q in &places[..i] {
            let is = angle(lens.ray(*p).unwrap(), lens.ray(*q).unwrap());
            let truth = angle(PHONE.ray(*p), PHONE.ray(*q));
            assert!((is / truth - 1.0).abs() < 3e-3, "{p:?} {q:?}: {is} {truth}");
        }
    }
}
