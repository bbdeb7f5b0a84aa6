//! Checks a scene description: every value can be drawn, or one line says which cannot.

use super::description::{Follow, SceneDescription, Viewpoint};
use crate::{Error, Result};

impl SceneDescription {
    /// Checks that every value can be meant.
    ///
    /// # Errors
    /// [`Error::Setting`] that names the first key at fault and its allowed range.
    pub fn check(&self) -> Result<()> {
        self.check_clip()?;
        self.check_lure()?;
        self.check_swim()?;
        self.check_camera()?;
        self.check_water()?;
        self.check_extras()?;
        self.check_file()
    }

    fn check_clip(&self) -> Result<()> {
        let c = &self.clip;
        for (key, px) in [("clip.width", c.width), ("clip.height", c.height)] {
            within(key, px as f64, 16.0, 4096.0, "px")?;
            if px % 2 == 1 {
                return Err(Error::setting(
                    key,
                    format!("{px} is odd"),
                    "give an even number",
                ));
            }
        }
        within("clip.fps", c.fps, 1.0, 1000.0, "frames per second")?;
        within("clip.seconds", c.seconds, 1.0 / c.fps, 3600.0, "s")?;
        within(
            "clip.exposure_s",
            c.exposure_s,
            0.0,
            1.0 / c.fps,
            "s, at most the gap between frames",
        )?;
        within(
            "clip.gap_jitter",
            c.gap_jitter,
            0.0,
            0.45,
            "of the usual gap",
        )?;
        within("clip.dropped", c.dropped, 0.0, 0.5, "")?;
        within("clip.noise", c.noise, 0.0, 60.0, "steps of 255")?;
        for step in &c.exposure_steps {
            within(
                "clip.exposure_steps.at_s",
                step.at_s,
                0.0,
                c.seconds,
                "s, inside the clip",
            )?;
            within("clip.exposure_steps.gain", step.gain, 0.05, 20.0, "times")?;
        }
        Ok(())
    }

    fn check_lure(&self) -> Result<()> {
        let l = &self.lure;
        within("lure.length_mm", l.length_mm, 5.0, 1000.0, "mm")?;
        within("lure.width", l.width, 0.05, 0.8, "of the length")?;
        within("lure.height", l.height, 0.05, 0.8, "of the length")?;
        within(
            "lure.pivot",
            l.pivot,
            0.0,
            1.0,
            "of the length, from the nose",
        )?;
        within("lure.lip", l.lip, 0.0, 0.8, "of the length")?;
        within("lure.lip_angle_deg", l.lip_angle_deg, 0.0, 90.0, "degrees")?;
        within("lure.lip_opacity", l.lip_opacity, 0.0, 1.0, "")?;
        within("lure.shine", l.shine, 0.0, 1.0, "")
    }

    fn check_swim(&self) -> Result<()> {
        let s = &self.swim;
        within("swim.wobble_hz", s.wobble_hz, 0.0, 60.0, "Hz")?;
        within("swim.rate_wander", s.rate_wander, 0.0, 0.2, "of the rate")?;
        within("swim.yaw_deg", s.yaw_deg, 0.0, 80.0, "degrees")?;
        within(
            "swim.width_wander",
            s.width_wander,
            0.0,
            0.3,
            "of the width",
        )?;
        within(
            "swim.third_harmonic",
            s.third_harmonic,
            0.0,
            0.3,
            "of the width",
        )?;
        within("swim.roll_deg", s.roll_deg, 0.0, 80.0, "degrees")?;
        within(
            "swim.roll_lag_deg",
            s.roll_lag_deg,
            -180.0,
            180.0,
            "degrees",
        )?;
        within("swim.list_deg", s.list_deg, -180.0, 180.0, "degrees")?;
        within("swim.crab_deg", s.crab_deg, -60.0, 60.0, "degrees")?;
        within("swim.pitch_deg", s.pitch_deg, -60.0, 60.0, "degrees")?;
        within("swim.nod_deg", s.nod_deg, 0.0, 20.0, "degrees")?;
        within("swim.drift_deg", s.drift_deg, -45.0, 45.0, "degrees")?;
        within("swim.weave_mm", s.weave_mm, 0.0, 200.0, "mm")?;
        within("swim.turn_into_dart", s.turn_into_dart, 0.0, 1.0, "")?;
        within("swim.speed_m_s", s.speed_m_s, 0.0, 10.0, "m/s")?;
        within(
            "swim.depth_mm",
            s.depth_mm,
            10.0,
            self.water.bottom_mm,
            "mm, above the bottom",
        )?;
        within("swim.start_along_mm", s.start_along_mm, -1e5, 1e5, "mm")?;
        within("swim.start_lateral_mm", s.start_lateral_mm, -1e5, 1e5, "mm")?;
        for d in &s.darts {
            if !(0.0 <= d.start_s && d.start_s < d.peak_s && d.peak_s < d.end_s) {
                return Err(Error::setting(
                    "swim.darts",
                    format!(
                        "start {}, peak {}, end {} s are not in order",
                        d.start_s, d.peak_s, d.end_s
                    ),
                    "give start_s < peak_s < end_s",
                ));
            }
            within("swim.darts.mm", d.mm, -2000.0, 2000.0, "mm")?;
        }
        if let Some(b) = s.blow_out {
            within(
                "swim.blow_out.at_s",
                b.at_s,
                0.0,
                self.clip.seconds,
                "s, inside the clip",
            )?;
            within("swim.blow_out.away_m_s", b.away_m_s, -5.0, 5.0, "m/s")?;
            within(
                "swim.blow_out.roll_deg",
                b.roll_deg,
                -360.0,
                360.0,
                "degrees",
            )?;
        }
        Ok(())
    }

    fn check_camera(&self) -> Result<()> {
        let c = &self.camera;
        let given = |v: Option<f64>| v.into_iter();
        for v in given(c.tilt_deg) {
            within(
                "camera.tilt_deg",
                v,
                -30.0,
                90.0,
                "degrees below the horizontal",
            )?;
        }
        for v in given(c.distance_mm) {
            within("camera.distance_mm", v, 30.0, 50_000.0, "mm")?;
        }
        for v in given(c.fov_deg) {
            within("camera.fov_deg", v, 2.0, 140.0, "degrees")?;
        }
        for v in given(c.pull_deg) {
            within("camera.pull_deg", v, -360.0, 360.0, "degrees")?;
            if c.view != Viewpoint::Above {
                return Err(Error::setting(
                    "camera.pull_deg",
                    "holds only for the view from above",
                    "leave it out, or give camera.lean_deg",
                ));
            }
        }
        for v in given(c.aim_along_mm) {
            within("camera.aim_along_mm", v, -1e5, 1e5, "mm")?;
        }
        within("camera.aim_lateral_mm", c.aim_lateral_mm, -1e5, 1e5, "mm")?;
        within("camera.lean_deg", c.lean_deg, -180.0, 180.0, "degrees")?;
        within("camera.shake_deg", c.shake_deg, 0.0, 5.0, "degrees")?;
        if c.view == Viewpoint::Ahead && c.follow == Follow::Tow {
            return Err(Error::setting(
                "camera.follow",
                "a camera that the lure comes toward cannot be towed along",
                "give \"still\" or \"turn\"",
            ));
        }
        Ok(())
    }

    fn check_water(&self) -> Result<()> {
        let w = &self.water;
        within("water.visibility_m", w.visibility_m, 0.05, 100.0, "m")?;
        within("water.bottom_mm", w.bottom_mm, 30.0, 20_000.0, "mm")?;
        within("water.stones", w.stones, 0.0, 1.0, "")?;
        within("water.ripples", w.ripples, 0.0, 0.1, "rad")?;
        within("water.light_net", w.light_net, 0.0, 1.0, "")?;
        within("water.specks", w.specks as f64, 0.0, 5000.0, "specks")?;
        within("water.glare", w.glare, 0.0, 1.0, "")
    }

    fn check_extras(&self) -> Result<()> {
        let e = &self.extras;
        within("extras.line_mm", e.line_mm, 0.0, 5.0, "mm")?;
        if let Some(l) = e.leaf {
            within(
                "extras.leaf.at_s",
                l.at_s,
                0.0,
                self.clip.seconds,
                "s, inside the clip",
            )?;
            within("extras.leaf.size_mm", l.size_mm, 5.0, 2000.0, "mm")?;
            within("extras.leaf.past_m_s", l.past_m_s, -10.0, 10.0, "m/s")?;
        }
        if let Some(f) = e.fish {
            within(
                "extras.fish.at_s",
                f.at_s,
                0.0,
                self.clip.seconds,
                "s, inside the clip",
            )?;
            within("extras.fish.length_mm", f.length_mm, 10.0, 2000.0, "mm")?;
            within("extras.fish.speed_m_s", f.speed_m_s, 0.0, 10.0, "m/s")?;
            within(
                "extras.fish.course_deg",
                f.course_deg,
                -360.0,
                360.0,
                "degrees",
            )?;
            within(
                "extras.fish.depth_mm",
                f.depth_mm,
                10.0,
                self.water.bottom_mm,
                "mm, above the bottom",
            )?;
            within("extras.fish.miss_mm", f.miss_mm, -5000.0, 5000.0, "mm")?;
        }
        Ok(())
    }

    fn check_file(&self) -> Result<()> {
        let f = &self.file;
        within("file.crf", f64::from(f.crf), 0.0, 51.0, "")?;
        if let Some(fps) = f.play_fps {
            within("file.play_fps", fps, 1.0, 1000.0, "frames per second")?;
        }
        if !matches!(f.rotation_deg, 0 | 90 | 180 | 270) {
            return Err(Error::setting(
                "file.rotation_deg",
                format!("{} is no quarter turn", f.rotation_deg),
                "give 0, 90, 180 or 270",
            ));
        }
        const PRESETS: [&str; 9] = [
            "ultrafast",
            "superfast",
            "veryfast",
            "faster",
            "fast",
            "medium",
            "slow",
            "slower",
            "veryslow",
        ];
        if !PRESETS.contains(&f.preset.as_str()) {
            return Err(Error::setting(
                "file.preset",
                format!("\"{}\" is unknown", f.preset),
                format!("give one of {}", PRESETS.join(", ")),
            ));
        }
        Ok(())
    }
}

fn within(key: &str, value: f64, lo: f64, hi: f64, unit: &str) -> Result<()> {
    // Written so that NaN fails too.
    if value >= lo && value <= hi {
        return Ok(());
    }
    let range = format!("give {lo} to {hi} {unit}");
    Err(Error::setting(
        key,
        format!("{value} is out of range"),
        range.trim_end(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn complaint(toml: &str) -> String {
        SceneDescription::from_toml(toml).unwrap_err().to_string()
    }

    #[test]
    fn defaults_are_sound() {
        SceneDescription::default().check().unwrap();
        assert_eq!(
            SceneDescription::from_toml("").unwrap(),
            SceneDescription::default()
        );
    }

    #[test]
    fn faults_name_their_key() {
        assert!(complaint("[clip]\nwidth = 641").contains("clip.width: 641 is odd"));
        assert!(complaint("[swim]\nwobble_hz = nan").contains("swim.wobble_hz: NaN"));
        assert!(complaint("[swim]\nwobbel_hz = 4").contains("wobbel_hz"));
        assert!(complaint("[swim]\ndepth_mm = 9000").contains("swim.depth_mm"));
        assert!(complaint("[camera]\nview = \"ahead\"").contains("camera.follow"));
        assert!(complaint("[file]\nrotation_deg = 45").contains("file.rotation_deg"));
        assert!(complaint("[[swim.darts]]\nstart_s=2\npeak_s=1\nend_s=3\nmm=50").contains("darts"));
    }
}
