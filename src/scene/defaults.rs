//! The usual values of a scene description.

use super::description::{
    ClipPlan, Codec, ExtrasPlan, FilePlan, LurePlan, Pattern, Quality, SwimPlan, WaterPlan,
};

impl Default for ClipPlan {
    fn default() -> Self {
        ClipPlan {
            width: 640,
            height: 360,
            fps: 30.0,
            seconds: 6.0,
            exposure_s: 0.008,
            gap_jitter: 0.0,
            dropped: 0.0,
            noise: 2.0,
            exposure_steps: Vec::new(),
            quality: Quality::Normal,
        }
    }
}

impl Default for LurePlan {
    fn default() -> Self {
        LurePlan {
            present: true,
            length_mm: 58.0,
            width: 0.21,
            height: 0.27,
            pivot: 0.4,
            lip: 0.2,
            lip_angle_deg: 40.0,
            lip_opacity: 0.45,
            hooks: true,
            back: [52, 84, 62],
            flank: [186, 190, 150],
            belly: [226, 214, 186],
            pattern: Pattern::Plain,
            shine: 0.5,
        }
    }
}

impl Default for SwimPlan {
    fn default() -> Self {
        SwimPlan {
            wobble_hz: 4.6,
            rate_wander: 0.02,
            yaw_deg: 16.0,
            width_wander: 0.04,
            third_harmonic: 0.0,
            roll_deg: 10.0,
            roll_lag_deg: 20.0,
            list_deg: 0.0,
            crab_deg: 0.0,
            pitch_deg: 8.0,
            nod_deg: 1.0,
            drift_deg: 0.0,
            weave_mm: 2.0,
            turn_into_dart: 0.6,
            speed_m_s: 0.5,
            depth_mm: 350.0,
            start_along_mm: 0.0,
            start_lateral_mm: 0.0,
            darts: Vec::new(),
            blow_out: None,
        }
    }
}

impl Default for WaterPlan {
    fn default() -> Self {
        WaterPlan {
            colour: [58, 92, 78],
            visibility_m: 4.0,
            bottom_mm: 1100.0,
            bottom: [122, 112, 84],
            stones: 0.25,
            ripples: 0.012,
            light_net: 0.5,
            specks: 60,
            glare: 0.0,
        }
    }
}

impl Default for ExtrasPlan {
    fn default() -> Self {
        ExtrasPlan {
            line_mm: 0.3,
            leaf: None,
            fish: None,
        }
    }
}

impl Default for FilePlan {
    fn default() -> Self {
        FilePlan {
            codec: Codec::H264,
            crf: 20,
            preset: "medium".into(),
            rotation_deg: 0,
            play_fps: None,
        }
    }
}
