//! The plan as one page to print or to open on the phone at the water: everything inline.

use minijinja::Environment;
use serde::Serialize;

use super::numbers::shown;
use super::plan_text::{self, long, place, way};
use crate::camera::View;
use crate::plan::{Plan, SAFETY};
use crate::units::LengthUnit;
use crate::{Error, Result};

/// Its name ends in `.html`, so that every text put into it is escaped.
const NAME: &str = "sheet.html";
const PAGE: &str = include_str!("sheet.html");
const DRAWINGS: &str = include_str!("drawings.html");

#[derive(Serialize)]
struct Page {
    heading: String,
    view: &'static str,
    from: &'static str,
    basis: String,
    tiles: Vec<[String; 2]>,
    settings: Vec<(String, String)>,
    shows: Vec<(String, String)>,
    rates: Vec<(String, String)>,
    times: Vec<(String, String)>,
    minds: Vec<String>,
    safety: [&'static str; SAFETY.len()],
    distance: String,
    tilt: String,
    pulls: Option<usize>,
    command: String,
}

/// Boxes to tick for pulls are drawn up to this many.
const MOST_BOXES: f64 = 12.0;

/// The page, lengths in `unit`.
///
/// # Errors
/// [`Error::File`] where the page cannot be made.
pub fn plan_sheet(plan: &Plan, unit: LengthUnit) -> Result<String> {
    let failed = |e: minijinja::Error| Error::file("plan sheet", std::io::Error::other(e));
    let mut pages = Environment::new();
    pages.add_template(NAME, PAGE).map_err(failed)?;
    pages
        .add_template("drawings.html", DRAWINGS)
        .map_err(failed)?;
    pages
        .get_template(NAME)
        .and_then(|page| page.render(minijinja::value::Serde(&page_of(plan, unit))))
        .map_err(failed)
}

fn page_of(plan: &Plan, unit: LengthUnit) -> Page {
    let tile = |label: &str, value: String| [label.to_string(), value];
    Page {
        heading: plan_text::heading(plan, unit),
        view: plan.shoot.view.word(),
        from: place(plan.shoot.view),
        basis: plan_text::basis(plan, unit),
        tiles: vec![
            tile("from camera to lure", way(plan.stand.distance.value, unit)),
            tile("frames a second", shown(plan.fps, 0)),
            tile(
                "shutter, or faster",
                format!("1/{} s", plan.shutter.one_over),
            ),
            tile("of film for rate and drift", long(whole_s(plan))),
        ],
        settings: plan_text::settings(plan, unit),
        shows: plan_text::shows(plan, unit),
        rates: plan_text::rates(plan),
        times: plan_text::times(plan),
        minds: plan.warnings.iter().map(|w| w.text()).collect(),
        safety: SAFETY,
        distance: way(plan.stand.distance.value, unit),
        tilt: format!("{}°", shown(plan.stand.tilt_deg.value, 0)),
        pulls: plan
            .pulls_for(whole_s(plan))
            .map(|pulls| pulls.clamp(2.0, MOST_BOXES) as usize),
        command: command(plan),
    }
}

/// Seconds that answer rate and drift.
fn whole_s(plan: &Plan) -> f64 {
    let drift_s = plan.drift_time.as_ref().map_or(0.0, |time| time.seconds);
    plan.rate_time.lure_s.max(drift_s)
}

/// How to measure the clip afterwards.
fn command(plan: &Plan) -> String {
    let mut words = format!(
        "truerun swim CLIP.mp4 --view {} --length {}",
        plan.shoot.view.word(),
        (10.0 * plan.shoot.length_mm).round() / 10.0
    );
    if matches!(plan.shoot.view, View::Behind | View::Ahead) {
        let tilt = plan.stand.tilt_deg;
        let tilt = match tilt.told {
            true => shown(tilt.value, 0),
            false => "ANGLE".to_string(),
        };
        words.push_str(&format!(" --tilt {tilt}"));
    }
    // both commands take the field of view as it is in air
    if plan.shoot.fov_deg.told {
        words.push_str(&format!(" --fov {}", plan.shoot.fov_deg.value));
    }
    if let Some(water) = plan.shoot.under_water {
        let (celsius, salinity) = (water.temperature_c, water.salinity);
        words.push_str(&format!(" --under-water --water-at {celsius},{salinity}"));
    }
    words
}
