//! The plan of a shoot as a maker reads it: settings first, then what they will show, then how long.

use super::layout::{Ink, TextStyle, beside, entry};
use super::numbers::shown;
use crate::camera::View;
use crate::plan::{DriftTime, FrameRate, Given, Plan, WANDER};
use crate::units::{LengthUnit, MM_PER_INCH};

/// A label and what stands beside it.
pub type Row = (String, String);

/// The plan as lines of at most 80 columns.
pub fn plan_text(plan: &Plan, style: &TextStyle) -> String {
    let part = |title: &str, rows: Vec<Row>| {
        let rows: String = rows
            .iter()
            .map(|(label, text)| entry(label, text))
            .collect();
        format!("\n{}\n{rows}", style.paint(Ink::Heading, title))
    };
    let minds: String = plan
        .warnings
        .iter()
        .map(|warning| beside("  Mind: ", 8, &warning.text()))
        .collect();
    let gap = if minds.is_empty() { "" } else { "\n" };
    [
        format!(
            "{}\n",
            style.paint(Ink::Heading, &heading(plan, style.unit))
        ),
        part("Set it up so", settings(plan, style.unit)),
        part("What that shows", shows(plan, style.unit)),
        part("Which rates each frame rate tells", rates(plan)),
        part("How long to film", times(plan)),
        format!(
            "\n{}{gap}{minds}",
            beside("  ", 2, &basis(plan, style.unit))
        ),
        "\nA page to take along: --sheet FILE.html\n".to_string(),
    ]
    .concat()
}

/// "58 mm lure filmed from above".
pub fn heading(plan: &Plan, unit: LengthUnit) -> String {
    format!(
        "{} lure filmed from {}{}",
        body(plan.shoot.length_mm, unit),
        place(plan.shoot.view),
        if plan.shoot.under_water.is_some() {
            ", under water"
        } else {
            ""
        }
    )
}

/// What the plan rests on, and what of it was assumed.
pub fn basis(plan: &Plan, unit: LengthUnit) -> String {
    let shoot = &plan.shoot;
    let noted = |text: String, given: Given, option: &str| match given.told {
        true => text,
        false => format!("{text} (assumed; give {option})"),
    };
    let rate = shown(shoot.rate_hz.value, 1);
    let rate = match shoot.rate_hz.told {
        true => format!("a wobble of {rate} Hz (full wobbles a second)"),
        false => format!("wobbles up to {rate} Hz"),
    };
    format!(
        "Planned for {}, {}, pulled at {}, and a phone that sees {}.",
        noted(rate, shoot.rate_hz, "--rate"),
        noted(
            format!("{}° to each side", shown(shoot.width_deg.value, 0)),
            shoot.width_deg,
            "--width"
        ),
        noted(
            speed(shoot.speed_m_s.value, unit),
            shoot.speed_m_s,
            "--speed"
        ),
        noted(
            format!(
                "{}° along the long side of the picture",
                shown(shoot.fov_deg.value, 0)
            ),
            shoot.fov_deg,
            "--fov"
        ),
    )
}

/// The settings, most important first.
pub fn settings(plan: &Plan, unit: LengthUnit) -> Vec<Row> {
    let mut rows = vec![row("distance", distance(plan, unit))];
    if let (View::Behind | View::Ahead, Some(height)) = (plan.shoot.view, plan.stand.height_m) {
        rows.push(row("camera", looks_down(plan, height, unit)));
    }
    rows.push(row(
        "frame rate",
        format!("{} a second", shown(plan.fps, 0)),
    ));
    rows.push(row(
        "shutter",
        format!("1/{} s or faster", plan.shutter.one_over),
    ));
    rows.push(row("hold", hold(plan)));
    rows
}

fn row(label: &str, text: String) -> Row {
    (label.to_string(), text)
}

fn looks_down(plan: &Plan, height_m: f64, unit: LengthUnit) -> String {
    let over = match plan.shoot.under_water {
        None => "over the water",
        Some(_) => "over the lure",
    };
    format!(
        "looking down {}°, so {} {over}",
        shown(plan.stand.tilt_deg.value, 0),
        way(height_m, unit)
    )
}

/// What the settings show.
pub fn shows(plan: &Plan, unit: LengthUnit) -> Vec<Row> {
    let picture = &plan.picture;
    let foreshortened = match plan.shoot.view {
        View::Behind | View::Ahead => ", foreshortened",
        View::Above | View::Side => "",
    };
    let crossing = picture.seconds_per_pull.map_or_else(
        || "the camera goes along, so the lure stays in".to_string(),
        |s| format!("a pull crosses it in {} s", shown(s, 1)),
    );
    let [long_m, short_m] = picture.seen_m.map(|m| way(m, unit));
    let mut rows = vec![row(
        "body",
        format!(
            "{} pixels along it{foreshortened}",
            shown(picture.body_px, 0)
        ),
    )];
    if plan.shoot.under_water.is_some() {
        let text = format!(
            "{}° instead of {}°: a flat window under water narrows the view and brings things nearer",
            shown(picture.fov_deg, 0),
            shown(plan.shoot.fov_deg.value, 0)
        );
        rows.push(row("view", text));
    }
    rows.push(row(
        "picture",
        format!("{long_m} × {short_m} of water; {crossing}"),
    ));
    rows.push(row("least wobble", least(plan)));
    rows.push(row("blur", blur(plan)));
    rows
}

/// What each frame rate tells.
pub fn rates(plan: &Plan) -> Vec<Row> {
    plan.frame_rates
        .iter()
        .map(|rate| row(&a_second(rate.fps), told(plan, rate)))
        .collect()
}

/// How long to film for each question.
pub fn times(plan: &Plan) -> Vec<Row> {
    vec![
        row("rate", rate_time(plan)),
        row("drift", drift_time(plan)),
        row("darts", dart_time(plan)),
    ]
}

fn distance(plan: &Plan, unit: LengthUnit) -> String {
    let stand = &plan.stand;
    let here = format!("{} from camera to lure", way(stand.distance.value, unit));
    let limit = way(stand.farthest_m, unit);
    match (stand.distance.told, plan.zoom_fov_deg()) {
        (true, None) => format!("{here}; up to {limit} will do"),
        (true, Some(fov)) => format!(
            "{here} is too far: go to {limit}, or zoom in until the long side sees {}°",
            shown(fov, 0)
        ),
        (false, _) => format!("{here}, no farther than {limit}"),
    }
}

fn hold(plan: &Plan) -> String {
    let phone = match plan.shoot.view {
        View::Above => "straight down, long side along the pull",
        View::Side => "level with the lure, long side along the pull",
        View::Behind => "upright, the lure in the middle",
        View::Ahead => "upright, the lure coming down the picture",
    };
    let still = match plan.shoot.goes_along {
        true => "go along at the lure's pace",
        false => "prop it up so that it stands still",
    };
    format!("{phone}; {still}; let the line show")
}

fn least(plan: &Plan) -> String {
    let least = shown(plan.swing.least_deg, 1);
    match plan.swing.apparent {
        true => format!("about {least}° to each side (its tilt is assumed)"),
        false => format!("about {least}° to each side"),
    }
}

fn blur(plan: &Plan) -> String {
    let shutter = &plan.shutter;
    format!(
        "1/{} s eats {} % of the width; {} is the slowest before it eats 2 %, {} before the tail smears over a twentieth of the body",
        shutter.one_over,
        shown(
            100.0 * shutter.eats,
            if shutter.eats < 0.001 { 2 } else { 1 }
        ),
        exposure(shutter.blur_s),
        exposure(shutter.smear_s),
    )
}

/// Look-alikes up to this rate are worth a word, Hz: no lure is thought to reach it.
const SPOKEN_UP_TO_HZ: f64 = 40.0;

/// What a frame rate tells, in a line.
fn told(plan: &Plan, rate: &FrameRate) -> String {
    let expected = shown(plan.shoot.rate_hz.value, 1);
    let alike: Vec<String> = rate
        .look_alike_hz
        .iter()
        .filter(|hz| **hz <= SPOKEN_UP_TO_HZ)
        .map(|hz| shown(*hz, 1))
        .collect();
    let limit = match rate.trusted_hz > 0.05 {
        true => format!("sure up to {} Hz", shown(rate.trusted_hz, 1)),
        false => "sure of none".to_string(),
    };
    match (rate.tells, alike.is_empty()) {
        (_, true) => format!("{limit}; nothing a lure does looks like {expected}"),
        (true, false) => format!(
            "{limit}; only {} would look like {expected}",
            alike.join(" or ")
        ),
        (false, false) => format!(
            "{limit}; {expected} cannot be told from {}",
            alike.join(" or ")
        ),
    }
}

fn rate_time(plan: &Plan) -> String {
    let time = &plan.rate_time;
    let within = format!("±{} Hz", plain(plan.shoot.rate_within_hz));
    format!(
        "in this clip within {within}: {}{} (no method could in under {}). Of the lure, whose rate wanders (taken as {} %), the mean within {within}: {} in all{}",
        long(time.clip_s),
        pulls(plan, time.clip_s),
        long(time.bound_s),
        shown(100.0 * WANDER, 0),
        long(time.lure_s),
        pulls(plan, time.lure_s),
    )
}

fn drift_time(plan: &Plan) -> String {
    match &plan.drift_time {
        Err(why) => format!("not from here: {why}"),
        Ok(time) => drift_pulls(plan, time),
    }
}

fn drift_pulls(plan: &Plan, time: &DriftTime) -> String {
    let within = plain(plan.shoot.drift_within_deg);
    let one = shown(time.one_pull_deg, 1);
    let pull_s = format!("{} s", shown(time.pull_s, 1));
    match time.pulls {
        1 => format!(
            "one pull of {} gives ±{one}°, within the ±{within}° wanted; pull both ways",
            pull_s
        ),
        n => format!(
            "{n} pulls of {}, both ways along the water, for ±{within}°; one alone gives ±{one}°",
            pull_s
        ),
    }
}

fn dart_time(plan: &Plan) -> String {
    let [a, b] = plan.dart_time.per_minute.map(plain);
    match (plan.dart_time.minutes, plan.dart_time.expected()) {
        (Some(minutes), Some([few, many])) => format!(
            "to tell {a} a minute from {b}: {} of swimming of each lure, about {} and {} darts (the chance that it then shows is 4 in 5)",
            long(60.0 * minutes),
            shown(few, 0),
            shown(many, 0)
        ),
        _ => format!("{a} and {b} a minute are too near each other to be told apart by counting"),
    }
}

fn pulls(plan: &Plan, seconds: f64) -> String {
    match plan.pulls_for(seconds) {
        Some(pulls) if pulls < 1.5 => ", one pull".into(),
        Some(pulls) if pulls.is_finite() => format!(", {} pulls", shown(pulls, 0)),
        _ => String::new(),
    }
}

/// "above", "the side" …, to stand behind "from".
pub fn place(view: View) -> &'static str {
    match view {
        View::Side => "the side",
        view => view.word(),
    }
}

/// "1.4 m" or "4.6 ft".
pub fn way(m: f64, unit: LengthUnit) -> String {
    let (x, name) = match unit {
        LengthUnit::Millimetres => (m, "m"),
        LengthUnit::Inches => (m * 1000.0 / MM_PER_INCH / 12.0, "ft"),
    };
    format!("{} {name}", shown(x, if x < 1.0 { 2 } else { 1 }))
}

fn body(mm: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetres => format!("{} mm", shown(mm, 0)),
        LengthUnit::Inches => format!("{} in", shown(mm / MM_PER_INCH, 2)),
    }
}

fn speed(m_s: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetres => format!("{} m/s", shown(m_s, 2)),
        LengthUnit::Inches => format!("{} ft/s", shown(m_s * 1000.0 / MM_PER_INCH / 12.0, 1)),
    }
}

/// "8 s" or "3.3 min", rounded up: a plan must not fall short.
pub fn long(s: f64) -> String {
    let up = |x: f64, step: f64| (x / step - 1e-9).ceil() * step;
    match s {
        s if s < 10.0 => format!("{} s", shown(up(s, 0.1), 1)),
        s if s < 100.0 => format!("{} s", shown(up(s, 1.0), 0)),
        s if s < 36_000.0 => format!(
            "{} min",
            shown(
                up(s / 60.0, if s < 1200.0 { 0.5 } else { 1.0 }),
                if s < 1200.0 { 1 } else { 0 }
            )
        ),
        _ => "over ten hours".to_string(),
    }
}

/// A figure as it was given, to three decimals: "4", "0.05".
fn plain(x: f64) -> String {
    ((1000.0 * x).round() / 1000.0).to_string()
}

/// "30 a second", or "1000/s" where that would not fit the label.
fn a_second(fps: f64) -> String {
    match fps < 999.5 {
        true => format!("{} a second", shown(fps, 0)),
        false => format!("{}/s", shown(fps, 0)),
    }
}

/// "1/54 s".
fn exposure(s: f64) -> String {
    match s < 0.5 {
        true => format!("1/{} s", shown((1.0 / s).ceil(), 0)),
        false => format!("{} s", shown(s, 1)),
    }
}
