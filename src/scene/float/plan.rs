//! What is to be drawn.

/// A push that sets the lure rocking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Push {
    /// When it is let go, s.
    pub t_s: f64,
    /// How far it is off its rest when let go, degrees, same sign as the angle that is seen.
    pub swing_deg: f64,
    /// Time of one full swing to and fro, s.
    pub period_s: f64,
    /// Damping ratio, 0 to below 1.
    pub damping: f64,
}

/// A float test to be drawn. Angles: +pitch nose down, +list own right side down.
#[derive(Debug, Clone, PartialEq)]
pub struct FloatPlan {
    /// All chance follows from it.
    pub seed: u64,
    /// Picture, px.
    pub width: usize,
    /// Picture, px.
    pub height: usize,
    /// Px per mm at the lure, in air.
    pub px_per_mm: f64,
    /// Seen from the end rather than from the side.
    pub end_view: bool,
    /// From the side: whether the nose points to the right of the picture.
    pub nose_right: bool,
    /// From the end: whether the camera looks at the nose rather than at the tail.
    pub from_nose: bool,
    /// Body length without lip, mm.
    pub length_mm: f64,
    /// Greatest height of the body, mm.
    pub height_mm: f64,
    /// Greatest width over greatest height.
    pub flatness: f64,
    /// How much deeper the belly is than the back is high, −1 to 1.
    pub belly: f64,
    /// Angle of the axis at rest, degrees, + nose down.
    pub pitch_deg: f64,
    /// List at rest, degrees, + own right side down.
    pub list_deg: f64,
    /// Height of the middle of the axis over the water, mm; negative under it.
    pub above_mm: f64,
    /// Place of the middle across the picture, 0 to 1.
    pub place: f64,
    /// How far the picture's level is turned clockwise, degrees.
    pub turn_deg: f64,
    /// Height of the camera's axis over the water, mm.
    pub camera_above_mm: f64,
    /// From the camera to the glass, and from the glass to the lure, mm.
    pub distance_mm: [f64; 2],
    /// Height of ripples, zero to peak, mm.
    pub ripples_mm: f64,
    /// How strongly the surface mirrors, 0 to 1.
    pub mirror: f64,
    /// How strong the texture behind the tank and in the water is, 0 to 1.
    pub texture: f64,
    /// Whether there is water at all.
    pub water: bool,
    /// Noise of the sensor, levels out of 255.
    pub noise: f64,
    /// Shake of the hand, px.
    pub shake_px: f64,
    /// A lip at the nose.
    pub lip: bool,
    /// Hooks under belly and tail.
    pub hooks: bool,
    /// Back, flank and belly: red, green, blue, 0 to 1.
    pub body: [[f32; 3]; 3],
    /// Air behind the tank.
    pub air: [f32; 3],
    /// Water.
    pub water_colour: [f32; 3],
    /// Frames per second of a clip.
    pub fps: f64,
    /// Its length, s.
    pub seconds: f64,
    /// A push, if there is one.
    pub push: Option<Push>,
    /// From this second on it rises at so many mm/s (negative: sinks).
    pub climb: Option<[f64; 2]>,
    /// Quality of the clip, constant rate factor of H.264.
    pub crf: u32,
}

impl Default for FloatPlan {
    fn default() -> FloatPlan {
        FloatPlan {
            seed: 1,
            width: 640,
            height: 360,
            px_per_mm: 4.0,
            end_view: false,
            nose_right: true,
            from_nose: true,
            length_mm: 58.0,
            height_mm: 14.0,
            flatness: 0.7,
            belly: 0.1,
            pitch_deg: 0.0,
            list_deg: 0.0,
            above_mm: 0.0,
            place: 0.5,
            turn_deg: 0.0,
            camera_above_mm: 0.0,
            distance_mm: [400.0, 40.0],
            ripples_mm: 0.15,
            mirror: 0.5,
            texture: 0.5,
            water: true,
            noise: 2.0,
            shake_px: 0.5,
            lip: true,
            hooks: true,
            body: [[0.30, 0.20, 0.08], [0.75, 0.45, 0.15], [0.90, 0.85, 0.70]],
            air: [0.62, 0.66, 0.70],
            water_colour: [0.25, 0.42, 0.40],
            fps: 30.0,
            seconds: 4.0,
            push: None,
            climb: None,
            crf: 20,
        }
    }
}

impl FloatPlan {
    /// What has been added to the resting angle at time `t`, degrees: nothing before the push, then a
    /// quick deflection within 0.25 s, then the free decay of a damped pendulum let go at rest.
    pub fn swing_deg(&self, t: f64) -> f64 {
        const SHOVE_S: f64 = 0.25;
        let Some(push) = self.push else { return 0.0 };
        let since = t - push.t_s;
        if since < -SHOVE_S {
            return 0.0;
        }
        if since < 0.0 {
            let u = 1.0 + since / SHOVE_S;
            return push.swing_deg * u * u * (3.0 - 2.0 * u);
        }
        let damped = std::f64::consts::TAU / push.period_s;
        let decay = damped * push.damping / (1.0 - push.damping * push.damping).sqrt();
        push.swing_deg
            * (-decay * since).exp()
            * ((damped * since).cos() + decay / damped * (damped * since).sin())
    }

    /// Pitch and list at time `t`, degrees: the push turns what this view shows.
    pub fn angles_deg(&self, t: f64) -> [f64; 2] {
        let swing = self.swing_deg(t);
        match self.end_view {
            true => [self.pitch_deg, self.list_deg + swing],
            false => [self.pitch_deg + swing, self.list_deg],
        }
    }

    /// Height of the middle of the axis over the water at time `t`, mm.
    pub fn above_mm_at(&self, t: f64) -> f64 {
        let risen = self
            .climb
            .map_or(0.0, |[from_s, rate]| rate * (t - from_s).max(0.0));
        self.above_mm + risen
    }
}
