//! Triangles to pixels: finer than the picture by a whole factor, with depth, then averaged down.

use super::colour::Light;
use super::mesh::Stuff;

/// A corner ready to draw.
#[derive(Debug, Clone, Copy)]
pub struct Corner {
    /// Place in the picture, px.
    pub px: [f64; 2],
    /// Orders what hides what.
    pub depth: f64,
    /// What the painter needs, carried evenly across the triangle: own place (3), normal in the
    /// world (3), light from above, way through water (mm).
    pub carried: [f32; 8],
}

/// A box of pixels in the picture: left, top, width, height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Area {
    /// Leftmost column.
    pub left: usize,
    /// Top row.
    pub top: usize,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
}

impl Area {
    /// The smallest box around the points, with a margin, inside a `width` × `height` picture.
    pub fn around(
        points: impl Iterator<Item = [f64; 2]>,
        width: usize,
        height: usize,
    ) -> Option<Area> {
        let (mut lo, mut hi) = ([f64::MAX; 2], [f64::MIN; 2]);
        for p in points {
            for i in 0..2 {
                lo[i] = lo[i].min(p[i]);
                hi[i] = hi[i].max(p[i]);
            }
        }
        let size = [width as f64, height as f64];
        let start = |i: usize| (lo[i] - 1.0).floor().clamp(0.0, size[i]) as usize;
        let end = |i: usize| (hi[i] + 1.0).ceil().clamp(0.0, size[i]) as usize;
        let (left, top) = (start(0), start(1));
        let (right, bottom) = (end(0), end(1));
        (right > left && bottom > top && lo[0] <= hi[0]).then(|| Area {
            left,
            top,
            width: right - left,
            height: bottom - top,
        })
    }
}

/// A drawn shape: colour times cover, and cover, per pixel of its area.
#[derive(Debug, Clone)]
pub struct Layer {
    /// Where in the picture.
    pub area: Area,
    /// Colour times cover, and cover (0–1), row by row.
    pub pixels: Vec<[f32; 4]>,
    /// Cover by [`Stuff::Body`] alone.
    pub body: Vec<f32>,
}

/// Draws triangles into a layer. `paint` gives colour and opacity; triangles that are not fully opaque
/// ([`Stuff::Lip`]) are laid over the others afterwards.
pub fn draw(
    corners: &[Corner],
    triangles: &[([u32; 3], Stuff)],
    area: Area,
    fine: usize,
    paint: impl Fn(Stuff, &[f32; 8]) -> (Light, f32),
) -> Layer {
    let mut canvas = Canvas {
        width: area.width * fine,
        height: area.height * fine,
        depth: vec![f32::MAX; area.width * area.height * fine * fine],
        pixels: vec![[0.0; 4]; area.width * area.height * fine * fine],
        body: vec![false; area.width * area.height * fine * fine],
    };
    for see_through in [false, true] {
        for (ids, stuff) in triangles
            .iter()
            .filter(|(_, s)| (*s == Stuff::Lip) == see_through)
        {
            let corner = ids.map(|i| {
                let mut c = corners[i as usize];
                c.px = [
                    (c.px[0] - area.left as f64) * fine as f64,
                    (c.px[1] - area.top as f64) * fine as f64,
                ];
                c
            });
            canvas.fill(&corner, *stuff, &paint);
        }
    }
    canvas.averaged(area, fine)
}

struct Canvas {
    width: usize,
    height: usize,
    depth: Vec<f32>,
    pixels: Vec<[f32; 4]>,
    body: Vec<bool>,
}

impl Canvas {
    fn fill(
        &mut self,
        c: &[Corner; 3],
        stuff: Stuff,
        paint: &impl Fn(Stuff, &[f32; 8]) -> (Light, f32),
    ) {
        let [a, b, d] = [c[0].px, c[1].px, c[2].px];
        let area = (b[0] - a[0]) * (d[1] - a[1]) - (b[1] - a[1]) * (d[0] - a[0]);
        if area.abs() < 1e-9 {
            return;
        }
        let span = |i: usize, size: usize| {
            let lo = a[i].min(b[i]).min(d[i]) - 0.5;
            let hi = a[i].max(b[i]).max(d[i]) - 0.5;
            (
                lo.ceil().max(0.0) as usize,
                (hi.floor() + 1.0).clamp(0.0, size as f64) as usize,
            )
        };
        let (x0, x1) = span(0, self.width);
        let (y0, y1) = span(1, self.height);
        for y in y0..y1 {
            for x in x0..x1 {
                let p = [x as f64 + 0.5, y as f64 + 0.5];
                let wb = ((p[0] - a[0]) * (d[1] - a[1]) - (p[1] - a[1]) * (d[0] - a[0])) / area;
                let wd = ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / area;
                let wa = 1.0 - wb - wd;
                if wa < 0.0 || wb < 0.0 || wd < 0.0 {
                    continue;
                }
                let depth = (wa * c[0].depth + wb * c[1].depth + wd * c[2].depth) as f32;
                let at = y * self.width + x;
                if depth > self.depth[at] {
                    continue;
                }
                let w = [wa as f32, wb as f32, wd as f32];
                let carried = std::array::from_fn(|i| {
                    w[0] * c[0].carried[i] + w[1] * c[1].carried[i] + w[2] * c[2].carried[i]
                });
                let (light, opacity) = paint(stuff, &carried);
                let under = self.pixels[at];
                self.pixels[at] = std::array::from_fn(|i| {
                    let own = if i < 3 { light[i] } else { 1.0 };
                    own * opacity + under[i] * (1.0 - opacity)
                });
                self.depth[at] = depth;
                self.body[at] = stuff == Stuff::Body || (stuff == Stuff::Lip && self.body[at]);
            }
        }
    }

    fn averaged(&self, area: Area, fine: usize) -> Layer {
        let share = 1.0 / (fine * fine) as f32;
        let mut pixels = vec![[0.0f32; 4]; area.width * area.height];
        let mut body = vec![0.0f32; area.width * area.height];
        for y in 0..self.height {
            for x in 0..self.width {
                let (from, to) = (y * self.width + x, y / fine * area.width + x / fine);
                for (sum, sample) in pixels[to].iter_mut().zip(self.pixels[from]) {
                    *sum += sample * share;
                }
                body[to] += if self.body[from] { share } else { 0.0 };
            }
        }
        Layer { area, pixels, body }
    }
}
