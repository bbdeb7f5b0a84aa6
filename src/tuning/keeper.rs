//! Writing target files: a blank one to fill in, and one made from a keeper's measured result.

use serde_json::Value;

use super::Measure;

const HEAD: &str = "\
# What this lure should do, for `truerun swim CLIP --target FILE`, `truerun thump` and
# `truerun float`.
# Every line is optional: take the # away from those you want judged.
# Write a range [low, high], or an aim with a tolerance { aim = 16, within = 2 }.
# Numbers only: the unit stands in the key.
";

/// What each key means, above its line.
fn note(measure: Measure) -> &'static str {
    match measure {
        Measure::Rate => "Full left-right-left wobbles per second.",
        Measure::Width => "Wobble width: how far the nose swings to each side, degrees.",
        Measure::TailSweep => "Tail sweep from side to side, mm.",
        Measure::Roll => {
            "Roll to each side, degrees. No test measures it in degrees yet: leave it off."
        }
        Measure::Drift => {
            "Steady run to one side, degrees: + to the lure's own right (your left as it comes to you).\n\
             # 0 is a straight run; a lure detuned on purpose has its aim off 0."
        }
        Measure::HuntsPerMinute => {
            "Darts per minute. A short clip cannot settle this: film a minute or more."
        }
        Measure::HuntsPerMetre => "Darts per metre of pull, where the speed is known.",
        Measure::Pivot => "Point of the body that moves least sideways: 0 the nose, 1 the tail.",
        Measure::ThumpRms => {
            "Thump at the rod tip, m/s² RMS, for `truerun thump`. It changes with rod, line and sensor."
        }
        Measure::Speed => {
            "Speed of the pull at which all this holds, m/s. At another speed nothing is judged."
        }
        Measure::FloatAngle => {
            "For `truerun float`, at rest. Angle of the axis, degrees: + nose down, − nose up."
        }
        Measure::List => "List, degrees: + own right side down (your left as it comes to you).",
        Measure::WaterAtNose => {
            "Water over the body's axis at the nose, mm; negative: the axis is out of the water there."
        }
        Measure::WaterAtTail => "Water over the body's axis at the tail, mm.",
        Measure::PartAbove => {
            "Part of the outline, seen from the side, that is above water, 0 to 1."
        }
        Measure::Freeboard => "Height of the back's highest spot over the water, mm.",
        Measure::RockingPeriod => "Time of one full swing after a push, s: short is stiff.",
        Measure::RockingDamping => "Damping ratio of that swing: 0 rocks for ever, 1 creeps back.",
        Measure::Rise => "How fast it rises, mm/s; negative: sinks. For suspenders around 0.",
    }
}

/// A commented target file in which every line is switched off. The ranges show the form only: no
/// published figures of lipped lures exist to offer as normal.
pub fn blank_target_file(lure: &str) -> String {
    let lines = Measure::ALL
        .into_iter()
        .map(|m| format!("\n# {}\n# {} = {}\n", note(m), m.key(), m.example()));
    format!(
        "{HEAD}\nlure = {}\n{}",
        quoted(lure),
        lines.collect::<String>()
    )
}

/// A target file made from the JSON result of a keeper (the swim that copies shall match): each
/// measured figure with a tolerance of `percent` of it, but never less than the half-width of its own
/// 95 % interval. `None` where the object is no result of this program.
pub fn keeper_target_file(lure: &str, result: &Value, percent: f64) -> Option<String> {
    let schema = result["schema"].as_str()?;
    let is_result = ["truerun/swim/", "truerun/thump/", "truerun/float/"]
        .iter()
        .any(|s| schema.starts_with(s));
    let lines = Measure::ALL.into_iter().map(|m| {
        let line = match kept(m, result) {
            Some((value, half)) => tolerance_line(m, value, half, percent),
            None => format!("# {} = {}", m.key(), m.example()),
        };
        format!("\n# {}\n{line}\n", note(m))
    });
    is_result.then(|| {
        format!(
            "{HEAD}# Made from a keeper's result: tolerances are {percent} % of the figure, or its own\n\
             # interval where that is wider.\n\nlure = {}\n{}",
            quoted(lure),
            lines.collect::<String>()
        )
    })
}

/// Value and half-width of the interval of a measured figure in a result.
fn kept(measure: Measure, result: &Value) -> Option<(f64, f64)> {
    let (part, field) = match measure {
        Measure::Rate => ("wobble", "hz"),
        Measure::Width if result["wobble"]["apparent"] == true => return None,
        Measure::Width => ("wobble", "width_deg"),
        Measure::TailSweep => ("wobble", "tail_sweep_mm"),
        Measure::Roll => ("roll", "width_deg"),
        Measure::Drift => ("drift", "deg"),
        Measure::Pivot => ("pivot", "from_nose"),
        Measure::ThumpRms => ("thump", "rms_m_s2"),
        Measure::Speed => ("speed", "m_s"),
        Measure::HuntsPerMinute | Measure::HuntsPerMetre => return None,
        // which end is the nose was guessed
        Measure::FloatAngle | Measure::WaterAtNose | Measure::WaterAtTail
            if result["nose_given"] == false =>
        {
            return None;
        }
        Measure::FloatAngle => ("angle", "nose_down_deg"),
        Measure::List => ("list", "right_down_deg"),
        Measure::WaterAtNose => ("waterline", "nose_mm"),
        Measure::WaterAtTail => ("waterline", "tail_mm"),
        Measure::PartAbove => ("above", "part"),
        Measure::Freeboard => ("freeboard", "mm"),
        Measure::RockingPeriod => ("rocking", "period_s"),
        Measure::RockingDamping => ("rocking", "damping"),
        Measure::Rise => ("rise", "mm_s"),
    };
    let part = &result[part];
    let value = part[field]
        .as_f64()
        .filter(|_| part["status"] == "measured")?;
    let interval = &part[format!("{field}_ci95")];
    let half = match (interval[0].as_f64(), interval[1].as_f64()) {
        (Some(lo), Some(hi)) => (hi - lo) / 2.0,
        _ => 0.0,
    };
    Some((value, half))
}

fn tolerance_line(measure: Measure, value: f64, half: f64, percent: f64) -> String {
    // Drift is compared with straight ahead and the pivot with a place, so a share of the value
    // would be no tolerance: 2 degrees, and a twentieth of the body. So too with angles and heights at
    // rest, which may be about zero.
    let wanted = match measure {
        Measure::Drift => 2.0,
        Measure::Pivot => 0.05,
        Measure::FloatAngle | Measure::List => 1.0,
        Measure::WaterAtNose | Measure::WaterAtTail | Measure::Freeboard => 0.7,
        Measure::PartAbove | Measure::RockingDamping => 0.03,
        _ => value.abs() * percent / 100.0,
    };
    let within = wanted.max(half);
    // two digits of the tolerance, and two decimals where that is fewer
    let decimals = (1.0 - within.max(1e-9).log10().floor()).clamp(2.0, 9.0) as usize;
    let unit = 0.1_f64.powi(decimals as i32);
    let within = (within / unit - 1e-6).ceil() * unit;
    format!(
        "{} = {{ aim = {value:.decimals$}, within = {within:.decimals$} }}",
        measure.key(),
    )
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_string()).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tuning::{Range, Target};

    #[test]
    fn a_blank_file_wants_nothing_until_lines_are_switched_on() {
        let text = blank_target_file("Hazel \"58\"");
        let target = Target::parse(&text, "t").unwrap();
        assert_eq!(target.lure.as_deref(), Some("Hazel \"58\""));
        assert!(target.wanted.is_empty());
        let keys = Measure::ALL.map(Measure::key);
        let on: String = text
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(rest) if keys.iter().any(|k| rest.starts_with(&format!("{k} ="))) => rest,
                _ => line,
            })
            .flat_map(|line| [line, "\n"])
            .collect();
        assert_eq!(
            Target::parse(&on, "t").unwrap().wanted.len(),
            Measure::ALL.len()
        );
    }

    #[test]
    fn a_float_whose_nose_was_guessed_gives_no_figures_that_hang_on_it() {
        let wanted = |nose_given: bool| {
            let result = serde_json::json!({
                "schema": "truerun/float/1",
                "nose_given": nose_given,
                "angle": {"status": "measured", "nose_down_deg": 12.0, "nose_down_deg_ci95": [11.0, 13.0]},
                "freeboard": {"status": "measured", "mm": 6.0, "mm_ci95": [5.5, 6.5]},
            });
            let text = keeper_target_file("Hazel 58", &result, 10.0).unwrap();
            let target = Target::parse(&text, "t").unwrap();
            [Measure::FloatAngle, Measure::Freeboard].map(|m| target.range(m).is_some())
        };
        assert_eq!(wanted(true), [true, true]);
        assert_eq!(wanted(false), [false, true]);
    }

    #[test]
    fn a_keeper_gives_its_figures_with_tolerances() {
        let result = serde_json::json!({
            "schema": "truerun/swim/1",
            "wobble": {"status": "measured", "hz": 4.6, "hz_ci95": [4.55, 4.65],
                       "width_deg": 16.0, "width_deg_ci95": [12.0, 20.0], "apparent": false},
            "drift": {"status": "unmeasurable", "deg": null, "deg_ci95": null},
        });
        let text = keeper_target_file("Hazel 58", &result, 10.0).unwrap();
        let target = Target::parse(&text, "t").unwrap();
        let near = |m, lo: f64, hi: f64| {
            let Range { lo: a, hi: b } = target.range(m).unwrap();
            assert!((a - lo).abs() < 1e-9 && (b - hi).abs() < 1e-9, "{a} {b}");
        };
        near(Measure::Rate, 4.14, 5.06);
        near(Measure::Width, 12.0, 20.0);
        // a tolerance is never rounded away, nor below the figure's own interval
        let text = keeper_target_file("Hazel 58", &result, 0.1).unwrap();
        let target = Target::parse(&text, "t").unwrap();
        let Range { lo, hi } = target.range(Measure::Rate).unwrap();
        assert!((lo - 4.55).abs() < 1e-9 && (hi - 4.65).abs() < 1e-9);
        let steady = serde_json::json!({
            "schema": "truerun/swim/1",
            "wobble": {"status": "measured", "hz": 4.587, "hz_ci95": [4.5836, 4.5904]},
        });
        let text = keeper_target_file("Hazel 58", &steady, 0.05).unwrap();
        assert!(text.contains("aim = 4.5870, within = 0.0034"), "{text}");
        assert_eq!(target.range(Measure::Drift), None);
        assert!(keeper_target_file("x", &serde_json::json!({"a": 1}), 10.0).is_none());
    }
}
