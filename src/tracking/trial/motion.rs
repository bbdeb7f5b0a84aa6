//! Whether a spot goes its own way over the bottom, or is taken along by the camera.

/// What goes its own way moves over the bottom by this part of the picture's width a second.
const OWN_WAY: f64 = 0.04;
/// Where the background slides by, the lure keeps its place to within this part of the slide; over a long time,
/// to within this part: a fish would have to swim as the camera goes.
pub const KEEPS_PLACE: f64 = 0.6;
pub const KEEPS_PLACE_LONG: f64 = 0.15;
/// What lies on the bottom moves over it by no more than this part of the bottom's slide through the picture.
pub const LIES: f64 = 0.3;
/// That is told once the bottom has slid by this part of the picture's width: a hand sways less in so short a time.
const SLID: f64 = 0.02;

/// How a spot moves, and the camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Way in the picture, px.
    pub picture: [f64; 2],
    /// Way over the background, px.
    pub scene: [f64; 2],
    /// For how long, s.
    pub since_s: f64,
    /// Width of the picture, px.
    pub picture_width: f64,
}

impl Motion {
    fn pace(&self) -> f64 {
        self.scene[0].hypot(self.scene[1]) / self.since_s
    }

    /// Where it goes over the background, degrees clockwise from image-up.
    pub fn course_deg(&self) -> f64 {
        self.scene[0].atan2(-self.scene[1]).to_degrees()
    }

    /// How far the background slid through the picture, px.
    fn slide(&self) -> f64 {
        (self.scene[0] - self.picture[0]).hypot(self.scene[1] - self.picture[1])
    }

    /// Whether it moves over the background.
    pub fn travels(&self) -> bool {
        self.pace() > OWN_WAY * self.picture_width
    }

    /// Whether the background hardly slides through the picture.
    pub fn camera_stands(&self) -> bool {
        self.slide() / self.since_s < OWN_WAY * self.picture_width
    }

    /// Whether it moves before a camera that stands.
    pub fn crosses(&self) -> bool {
        self.travels() && self.camera_stands()
    }

    /// Whether it slides through the picture with the bottom.
    pub fn lies_on_bottom(&self) -> bool {
        let over_bottom = self.scene[0].hypot(self.scene[1]);
        let slid = !self.camera_stands() && self.slide() > SLID * self.picture_width;
        slid && !self.travels() && over_bottom < LIES * self.slide()
    }

    /// Whether it keeps its place in the picture to within this part of the slide.
    pub fn keeps_place(&self, part: f64) -> bool {
        self.picture[0].hypot(self.picture[1]) < part * self.slide()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn motion(picture: [f64; 2], scene: [f64; 2]) -> Motion {
        Motion {
            picture,
            scene,
            since_s: 2.0,
            picture_width: 640.0,
        }
    }

    #[test]
    fn a_towed_lure_keeps_its_place_and_a_passing_fish_does_not() {
        let towed = motion([10.0, -6.0], [310.0, 0.0]);
        assert!(towed.travels() && !towed.camera_stands() && towed.keeps_place(KEEPS_PLACE_LONG));
        assert!((towed.course_deg() - 90.0).abs() < 1e-9);
        let fish = motion([60.0, 110.0], [360.0, 110.0]);
        assert!(fish.travels() && !fish.keeps_place(KEEPS_PLACE_LONG));
        let stone = motion([-300.0, 0.0], [4.0, 2.0]);
        assert!(!stone.travels() && !stone.keeps_place(KEEPS_PLACE));
        assert!(stone.lies_on_bottom() && !towed.lies_on_bottom() && !fish.lies_on_bottom());
        let beside_a_still_camera = motion([160.0, 0.0], [161.0, 1.0]);
        assert!(beside_a_still_camera.crosses());
        assert!(!towed.crosses() && !stone.crosses());
        let stone_before_a_still_camera = motion([3.0, 0.0], [0.5, 0.0]);
        assert!(!stone_before_a_still_camera.lies_on_bottom());
        let in_a_current_before_a_hand_that_sways = Motion {
            since_s: 0.2,
            ..motion([7.0, 0.0], [1.0, 0.0])
        };
        assert!(!in_a_current_before_a_hand_that_sways.lies_on_bottom());
    }
}
