//! What a scene is made of, as a short TOML file or a struct. Every value has a default.

use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::{Error, Result};

/// A whole scene: a clip of a lure in water, filmed from one side.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SceneDescription {
    /// Name of the clip, put into the truth.
    pub name: String,
    /// One plain sentence for the truth.
    pub notes: String,
    /// Every chance in the scene follows from this number.
    pub seed: u64,
    /// The whole world mirrored in the upright plane of the pull: left and right change places.
    pub mirrored: bool,
    /// Size, rate and length of the clip.
    pub clip: ClipPlan,
    /// The lure's shape and colours.
    pub lure: LurePlan,
    /// How it swims.
    pub swim: SwimPlan,
    /// Where the camera is and how it moves.
    pub camera: CameraPlan,
    /// Water, bottom, light.
    pub water: WaterPlan,
    /// What else is in the picture.
    pub extras: ExtrasPlan,
    /// How the clip is stored.
    pub file: FilePlan,
}

/// How carefully the picture is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Quality {
    /// For tests by the hundred.
    Quick,
    /// The usual.
    #[default]
    Normal,
    /// For clips that people look at.
    Fine,
}

/// Size, rate and length of the clip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ClipPlan {
    /// Width of the displayed picture, px, even.
    pub width: usize,
    /// Height of the displayed picture, px, even.
    pub height: usize,
    /// Frames per second of real time.
    pub fps: f64,
    /// Length in real time, s.
    pub seconds: f64,
    /// Exposure time of a frame, s.
    pub exposure_s: f64,
    /// Spread of the gaps between frames, as a fraction of the usual gap; 0 for a constant rate.
    /// Stamps then fall on whole milliseconds.
    pub gap_jitter: f64,
    /// Chance that a frame is missing, 0–1.
    pub dropped: f64,
    /// Standard deviation of the sensor's noise, in steps of the 0–255 scale.
    pub noise: f64,
    /// Sudden changes of the exposure.
    pub exposure_steps: Vec<ExposureStep>,
    /// How carefully the picture is drawn.
    pub quality: Quality,
}

/// From a time on, the picture is brighter or darker.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExposureStep {
    /// When, s.
    pub at_s: f64,
    /// Light against the start of the clip, 1 = the same.
    pub gain: f64,
}

/// Colouring of the lure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Pattern {
    /// Back and belly only.
    #[default]
    Plain,
    /// Dark bars across the flanks.
    Bars,
    /// Dark spots on back and flanks.
    Spots,
}

/// The lure's shape and colours. sRGB colours as 0–255.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct LurePlan {
    /// `false`: there is no lure in the clip at all.
    pub present: bool,
    /// Body length without lip, mm.
    pub length_mm: f64,
    /// Greatest width over length.
    pub width: f64,
    /// Greatest height over length.
    pub height: f64,
    /// The pivot's place along the body, fraction from the nose.
    pub pivot: f64,
    /// Lip length over body length; 0 for none.
    pub lip: f64,
    /// Angle of the lip below the body's axis, degrees.
    pub lip_angle_deg: f64,
    /// How much of the light the lip stops, 0 clear to 1 white.
    pub lip_opacity: f64,
    /// Whether the two treble hooks are on.
    pub hooks: bool,
    /// Colour of the back.
    pub back: [u8; 3],
    /// Colour of the flank.
    pub flank: [u8; 3],
    /// Colour of the belly.
    pub belly: [u8; 3],
    /// Pattern on it.
    pub pattern: Pattern,
    /// Strength of the shine, 0 dull to 1 wet lacquer.
    pub shine: f64,
}

/// A quick sideways dart that comes back.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dart {
    /// When it begins, s.
    pub start_s: f64,
    /// When it is farthest out, s.
    pub peak_s: f64,
    /// When it is back, s.
    pub end_s: f64,
    /// How far, mm, + to own right.
    pub mm: f64,
}

/// The lure leaves its line and does not come back.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlowOut {
    /// When it begins, s.
    pub at_s: f64,
    /// Sideways speed it ends up with, m/s, + to own right.
    pub away_m_s: f64,
    /// How far it rolls over, degrees, + own right side down.
    pub roll_deg: f64,
}

/// How the lure swims.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SwimPlan {
    /// Wobble rate, Hz; 0 for a lure that does not wobble.
    pub wobble_hz: f64,
    /// Standard deviation of the slow wander of the rate, as a fraction of it.
    pub rate_wander: f64,
    /// Yaw, zero-to-peak, degrees.
    pub yaw_deg: f64,
    /// Standard deviation of the slow wander of yaw and roll, as a fraction.
    pub width_wander: f64,
    /// Size of the yaw's third harmonic, as a fraction.
    pub third_harmonic: f64,
    /// Roll, zero-to-peak, degrees.
    pub roll_deg: f64,
    /// By how much the roll lags the yaw, degrees of phase.
    pub roll_lag_deg: f64,
    /// Steady roll, degrees, + own right side down.
    pub list_deg: f64,
    /// Steady yaw against the path, degrees.
    pub crab_deg: f64,
    /// Mean pitch, degrees, + nose down.
    pub pitch_deg: f64,
    /// Nodding at twice the rate, zero-to-peak, degrees.
    pub nod_deg: f64,
    /// Steady drift, degrees, + to own right.
    pub drift_deg: f64,
    /// Slow sideways wandering of the path, standard deviation, mm.
    pub weave_mm: f64,
    /// How far the body turns into a dart, 0 not at all to 1 along its path.
    pub turn_into_dart: f64,
    /// Speed of the pull through the water, m/s.
    pub speed_m_s: f64,
    /// Depth of the pivot, mm.
    pub depth_mm: f64,
    /// Place along the pull at time 0, mm.
    pub start_along_mm: f64,
    /// Place across the pull at time 0, mm, + own right.
    pub start_lateral_mm: f64,
    /// Darts.
    pub darts: Vec<Dart>,
    /// Blow-out, if any.
    pub blow_out: Option<BlowOut>,
}

/// From where the lure is filmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Viewpoint {
    /// Looking down from over the water.
    #[default]
    Above,
    /// Following it under water.
    Behind,
    /// From over the water, the lure comes toward the camera.
    Ahead,
    /// Under water, from its own right side.
    Side,
}

/// What the camera does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Follow {
    /// It stands still.
    Still,
    /// It moves straight along the pull at its speed.
    #[default]
    Tow,
    /// It stands still and turns after the lure, late and not quite right, as a hand does.
    Turn,
}

/// Where the camera is and how it moves. Values left out take the usual ones of the view.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct CameraPlan {
    /// From where the lure is filmed.
    pub view: Viewpoint,
    /// What the camera does.
    pub follow: Follow,
    /// How far it looks down at the aimed point, degrees below the horizontal.
    pub tilt_deg: Option<f64>,
    /// Distance from the aimed point, mm.
    pub distance_mm: Option<f64>,
    /// Field of view along the picture's long side, degrees.
    pub fov_deg: Option<f64>,
    /// The camera turned about its own axis so that the pull runs this way in the picture, degrees
    /// clockwise from image-up. Only for the view from above.
    pub pull_deg: Option<f64>,
    /// The aimed point ahead of the start of the pull line (or of the towed point), mm.
    pub aim_along_mm: Option<f64>,
    /// The aimed point across the pull line, mm, + own right.
    pub aim_lateral_mm: f64,
    /// Turned about its own axis by this much, degrees, so that the picture leans.
    pub lean_deg: f64,
    /// Hand shake, standard deviation of each angle, degrees.
    pub shake_deg: f64,
}

/// Water, bottom and light.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct WaterPlan {
    /// Colour of deep water, sRGB 0–255.
    pub colour: [u8; 3],
    /// Path on which contrast falls to 5 %, m.
    pub visibility_m: f64,
    /// Depth of the bottom, mm.
    pub bottom_mm: f64,
    /// Colour of the bottom's sand or mud, sRGB 0–255.
    pub bottom: [u8; 3],
    /// Share of the bottom that is covered by stones, 0–1.
    pub stones: f64,
    /// Standard deviation of the surface's slope, rad; bends the picture seen from over the water.
    pub ripples: f64,
    /// Strength of the dancing light on the bottom, 0–1.
    pub light_net: f64,
    /// How many specks float in view.
    pub specks: usize,
    /// Strength of the sky's reflections on the surface, 0–1.
    pub glare: f64,
}

/// What else is in the picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ExtrasPlan {
    /// Fishing line from the nose in the direction of the pull; diameter, mm; 0 for none.
    pub line_mm: f64,
    /// A leaf that hides the lure.
    pub leaf: Option<Leaf>,
    /// A fish that passes.
    pub fish: Option<Fish>,
}

/// A leaf that floats over the lure, or hangs in the water before it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leaf {
    /// When it lies over the middle of the lure, s.
    pub at_s: f64,
    /// Its length, mm.
    pub size_mm: f64,
    /// How fast it moves past the lure, m/s.
    pub past_m_s: f64,
}

/// A fish that swims through.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fish {
    /// When it is nearest to the aimed point, s.
    pub at_s: f64,
    /// Its length, mm.
    pub length_mm: f64,
    /// Its speed over the bottom, m/s.
    pub speed_m_s: f64,
    /// Its course against the pull, degrees, + to the lure's own right.
    pub course_deg: f64,
    /// Its depth, mm.
    pub depth_mm: f64,
    /// How far from the aimed point it passes, mm.
    pub miss_mm: f64,
}

/// Video codec.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Codec {
    /// H.264.
    #[default]
    H264,
    /// H.265.
    Hevc,
}

/// How the clip is stored. The container follows from the file's name: mp4, mov, mkv or avi.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct FilePlan {
    /// Video codec.
    pub codec: Codec,
    /// Constant rate factor: lower is better and larger, 0–51.
    pub crf: u8,
    /// Encoder's preset, from `ultrafast` to `veryslow`.
    pub preset: String,
    /// By how much a player has to turn the stored picture clockwise: 0, 90, 180 or 270.
    pub rotation_deg: u16,
    /// Frames per second at which the clip plays, where that is not real time (slow motion).
    pub play_fps: Option<f64>,
}

impl SceneDescription {
    /// Reads a scene from TOML text and checks it.
    ///
    /// # Errors
    /// [`Error::Setting`] with the key at fault.
    pub fn from_toml(text: &str) -> Result<SceneDescription> {
        let scene: SceneDescription = toml::from_str(text).map_err(|e| {
            Error::setting(
                "scene description",
                e.to_string().trim(),
                "see sample-data/scenes",
            )
        })?;
        scene.check()?;
        Ok(scene)
    }

    /// Reads a scene from a TOML file and checks it; an empty name becomes the file's.
    ///
    /// # Errors
    /// [`Error::File`] where it cannot be read, [`Error::Setting`] with the key at fault.
    pub fn read(path: &Path) -> Result<SceneDescription> {
        let text = std::fs::read_to_string(path).map_err(|e| Error::file(path, e))?;
        let mut scene = SceneDescription::from_toml(&text)?;
        if scene.name.is_empty() {
            scene.name = path
                .file_stem()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned();
        }
        Ok(scene)
    }

    /// The same scene with left and right changed over.
    pub fn mirror(&self) -> SceneDescription {
        SceneDescription {
            mirrored: !self.mirrored,
            ..self.clone()
        }
    }
}
