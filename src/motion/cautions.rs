//! What the user should know about a result.

use super::Swim;
use super::analyse::Swum;
use super::pull::PullSource;
use super::robust::{median, quantile};
use crate::{Status, Warning};

/// A lure shorter than this is small in the picture, px.
const SMALL_PX: f64 = 30.0;
/// A clip seen less than this is partly seen.
const PARTLY: f64 = 0.9;
/// Strouhal numbers of cruising animals (Taylor, Nudds & Thomas 2003, Nature 425:707).
const STROUHAL_BAND: [f64; 2] = [0.2, 0.4];

impl Swum<'_> {
    /// The warnings that `swim` calls for; `travels` says whether the camera moved along.
    pub(super) fn warnings(&self, swim: &Swim, travels: bool) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let gaps: Vec<f64> = self
            .track
            .frames
            .windows(2)
            .map(|w| w[1].t_s - w[0].t_s)
            .filter(|g| *g > 0.0)
            .collect();
        if let (Some(low), Some(middle), Some(high)) = (
            quantile(gaps.iter().copied(), 0.05),
            median(gaps.iter().copied()),
            quantile(gaps.iter().copied(), 0.95),
        ) {
            if high - low > 0.15 * middle {
                warnings.push(Warning::VariableFrameRate { gap_s: [low, high] });
            }
        }
        if swim.tracked_fraction < PARTLY {
            warnings.push(Warning::PartlySeen {
                tracked_fraction: swim.tracked_fraction,
            });
        }
        if swim.wobble.hz.status == Status::Aliased {
            let candidates_hz = swim.wobble.alias_candidates_hz.clone();
            warnings.push(Warning::Aliased { candidates_hz });
        }
        if swim.wobble.apparent && swim.wobble.width_deg.is_measured() {
            warnings.push(Warning::ApparentAngles);
        }
        if travels && self.setup.speed_m_s.is_none() {
            warnings.push(Warning::MovingCamera);
        }
        if matches!(self.pull.source, PullSource::Path | PullSource::View) {
            warnings.push(Warning::PullFromPath);
        }
        let length_px = median(self.series.length_px.iter().copied()).unwrap_or(0.0);
        if length_px < SMALL_PX {
            warnings.push(Warning::SmallInPicture { length_px });
        }
        if let Some(strouhal) = swim.strouhal.value {
            if !(STROUHAL_BAND[0]..=STROUHAL_BAND[1]).contains(&strouhal) {
                warnings.push(Warning::UnusualStrouhal { strouhal });
            }
        }
        let doubt = self.pull.contradicts(self.setup.view);
        let told = swim.warnings.iter().any(|w| w.code() == "view_doubtful");
        if let Some(why) = doubt
            .or_else(|| self.swings_too_far(swim))
            .filter(|_| !told)
        {
            warnings.push(Warning::ViewDoubtful { why });
        }
        warnings
    }
}
