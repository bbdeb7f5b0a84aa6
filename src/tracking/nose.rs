//! At which end the nose is, and where the line off it points.

use super::assemble::Row;
use super::follow::Sighting;
use super::line_watch::LineLook;
use crate::camera::{Setup, View};
use crate::units::wrap_deg;

/// A line off one end in so much more of the frames than off the other shows where the nose is.
const SURE_LINE: f64 = 0.4;
/// Against where the nose pointed when the lure was followed for longer, so many telling looks at least count.
const ENOUGH_LOOKS: usize = 20;
/// A silhouette at least so skew along its axis shows by its taper where the nose is; on our seven rendered clips
/// with a lure it was skewed by 0.005 to 0.17, and always so.
const CLEAR_TAPER: f64 = 0.05;
/// Streaks farther than this from the usual direction of the line are something else, degrees.
const LINE_SPREAD_DEG: f64 = 20.0;

/// +1 where the nose lies at the body frame's positive end, −1 otherwise: by the pull where it was
/// given, by where it pointed in a longer stretch, `known_deg`, unless the line surely shows, by the line where it is seen, by the view, by the way of travel; where the camera travels too, rather by
/// the taper, for light that dances over the bottom can make it seem to slide the other way.
pub fn sense(
    rows: &[&Row],
    setup: &Setup,
    camera_moves: bool,
    taper: f64,
    known_deg: Option<f64>,
) -> f64 {
    let axes: Vec<f64> = rows
        .iter()
        .filter_map(|r| r.seen().map(|(_, pose)| pose.axis_rad))
        .collect();
    let toward = |deg: f64| -> f64 {
        let pull = deg.to_radians();
        axes.iter().map(|a| (a - pull).cos()).sum()
    };
    if let Some(pull) = setup.pull_deg {
        return toward(pull).signum();
    }
    let ([ahead, behind], looks) = line_evidence(rows);
    let shows = (ahead - behind).abs() > SURE_LINE;
    if let Some(known_deg) = known_deg.filter(|_| !shows || looks < ENOUGH_LOOKS) {
        return toward(known_deg).signum();
    }
    if shows {
        return (ahead - behind).signum();
    }
    match setup.view {
        View::Behind => toward(0.0).signum(),
        View::Ahead => toward(180.0).signum(),
        // the body tapers to the tail: most of it lies toward the nose
        View::Above | View::Side if camera_moves && taper.abs() > CLEAR_TAPER => -taper.signum(),
        View::Above | View::Side => toward(travel_deg(rows)).signum(),
    }
}

/// Image direction in which the nose points, degrees.
pub fn direction_deg(rows: &[&Row], sense: f64) -> f64 {
    let axes = rows.iter().filter_map(|r| r.seen());
    let sum = axes.fold([0.0; 2], |[x, y], (_, pose)| {
        let [fx, fy] = pose.forward();
        [x + sense * fx, y + sense * fy]
    });
    sum[0].atan2(-sum[1]).to_degrees()
}

/// Fraction of the telling looks with a line off either end of the body frame, and how many these are.
fn line_evidence(rows: &[&Row]) -> ([f64; 2], usize) {
    let looks: Vec<&LineLook> = rows
        .iter()
        .filter_map(|r| r.seen().map(|s| &s.0.line))
        .filter(|look| look.telling)
        .collect();
    let fraction = |end: usize| {
        let lines = looks
            .iter()
            .filter(|look| look.streaks[end].is_some_and(|k| k.is_line()))
            .count();
        lines as f64 / looks.len().max(1) as f64
    };
    ([fraction(0), fraction(1)], looks.len())
}

/// Image direction in which the lure travels over the background, degrees.
fn travel_deg(rows: &[&Row]) -> f64 {
    let mut ends = rows.iter().filter_map(|r| {
        r.seen()
            .map(|(_, pose)| r.to_scene.apply([pose.x_px, pose.y_px]))
    });
    let (Some(first), Some(last)) = (ends.next(), ends.next_back()) else {
        return 0.0;
    };
    (last[0] - first[0]).atan2(first[1] - last[1]).to_degrees()
}

/// Usual direction of the line: that of the strongest agreement among the strong streaks, counted in steps of
/// a degree.
pub fn line_direction(rows: &[&Row], sense: f64) -> Option<f64> {
    const STEPS: i32 = 360;
    let streaks: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|r| r.seen().and_then(|(s, _)| s.line.streaks[end_index(sense)]))
        .filter(|k| k.is_line())
        .map(|k| (k.direction_deg, k.strength))
        .collect();
    if streaks.len() < 5 {
        return None;
    }
    let mut strength = [0.0; STEPS as usize];
    for (deg, s) in &streaks {
        strength[(deg.round() as i32).rem_euclid(STEPS) as usize] += s;
    }
    let reach = (0.5 * LINE_SPREAD_DEG) as i32;
    let support = |step: i32| -> f64 {
        (step - reach..=step + reach)
            .map(|k| strength[k.rem_euclid(STEPS) as usize])
            .sum()
    };
    let best = (0..STEPS).max_by(|&a, &b| support(a).total_cmp(&support(b)))?;
    // the middle of those that agree
    let off = streaks
        .iter()
        .map(|s| (wrap_deg(s.0 - f64::from(best)), s.1));
    let (sum, weight) = off
        .filter(|(off, _)| off.abs() <= f64::from(reach))
        .fold((0.0, 0.0), |(sum, weight), (off, s)| {
            (sum + s * off, weight + s)
        });
    Some(wrap_deg(f64::from(best) + sum / weight))
}

/// Direction of the line in one row, where it is near the `usual` one, degrees.
pub fn row_line(sighting: &Sighting, sense: f64, usual: Option<f64>) -> Option<f64> {
    let streak = sighting.line.streaks[end_index(sense)]?;
    let near = wrap_deg(streak.direction_deg - usual?).abs() < LINE_SPREAD_DEG;
    (near && streak.is_line()).then(|| wrap_deg(streak.direction_deg))
}

fn end_index(sense: f64) -> usize {
    usize::from(sense < 0.0)
}
