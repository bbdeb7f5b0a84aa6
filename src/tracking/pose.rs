//! Where the lure lies in a picture: place, axis, and apparent scale along and across.

use super::start_box::StartBox;

/// Room about a body in the box round it.
const ROOM: f64 = 1.15;

/// Place, axis and apparent scale of the lure. The body frame has `u` from tail to nose and `v` to the
/// right of it as seen in the picture, both in units of the reference length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Origin of the body frame in the picture, px.
    pub x_px: f64,
    /// See `x_px`.
    pub y_px: f64,
    /// Direction of `u`, radians clockwise from image-up.
    pub axis_rad: f64,
    /// Px per unit of `u`.
    pub along_px: f64,
    /// Px per unit of `v`.
    pub across_px: f64,
}

impl Pose {
    /// Unit vector of `u` in the picture (x right, y down).
    pub fn forward(&self) -> [f64; 2] {
        [self.axis_rad.sin(), -self.axis_rad.cos()]
    }

    /// Unit vector of `v` in the picture.
    pub fn rightward(&self) -> [f64; 2] {
        [self.axis_rad.cos(), self.axis_rad.sin()]
    }

    /// Body coordinates `[u, v]` of a picture point.
    pub fn body_point(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let (f, r) = (self.forward(), self.rightward());
        let (dx, dy) = (x - self.x_px, y - self.y_px);
        [
            (dx * f[0] + dy * f[1]) / self.along_px,
            (dx * r[0] + dy * r[1]) / self.across_px,
        ]
    }

    /// Box round a body that lies so and is `width` times as wide as long, with a little room.
    pub fn box_about(&self, width: f64, t_s: f64) -> StartBox {
        self.close_box(width, t_s).grown(ROOM)
    }

    /// The same without any room.
    pub fn close_box(&self, width: f64, t_s: f64) -> StartBox {
        let (length, width) = (self.along_px, self.across_px * width);
        let [sin, cos] = [self.axis_rad.sin().abs(), self.axis_rad.cos().abs()];
        let (w, h) = (sin * length + cos * width, cos * length + sin * width);
        StartBox {
            x: self.x_px - w / 2.0,
            y: self.y_px - h / 2.0,
            w,
            h,
            t_s,
        }
    }

    /// Picture point of body coordinates `[u, v]`.
    pub fn picture_point(&self, body: [f64; 2]) -> [f64; 2] {
        self.onto_picture()(body)
    }

    /// The same for many points, the sines taken once.
    pub fn onto_picture(&self) -> impl Fn([f64; 2]) -> [f64; 2] + '_ {
        let (f, r) = (self.forward(), self.rightward());
        move |[u, v]| {
            let (a, c) = (u * self.along_px, v * self.across_px);
            [
                self.x_px + a * f[0] + c * r[0],
                self.y_px + a * f[1] + c * r[1],
            ]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Pose;

    #[test]
    fn a_lure_pointing_right_has_its_nose_right_and_its_v_down() {
        let pose = Pose {
            x_px: 100.0,
            y_px: 50.0,
            axis_rad: std::f64::consts::FRAC_PI_2,
            along_px: 40.0,
            across_px: 40.0,
        };
        let nose = pose.picture_point([0.5, 0.0]);
        let right = pose.picture_point([0.0, 0.5]);
        assert!((nose[0] - 120.0).abs() < 1e-9 && (nose[1] - 50.0).abs() < 1e-9);
        assert!((right[0] - 100.0).abs() < 1e-9 && (right[1] - 70.0).abs() < 1e-9);
        let back = pose.body_point(pose.picture_point([0.3, -0.2]));
        assert!((back[0] - 0.3).abs() < 1e-9 && (back[1] + 0.2).abs() < 1e-9);
    }
}
