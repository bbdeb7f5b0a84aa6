//! Groups of runs compared measure by measure, as text and as JSON.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::layout::beside;
use super::numbers::{decimals, shown, shown_range, stored, stored_pair};
use super::record_text::plain;
use crate::record::Run;
use crate::tuning::{Comparison, Measure, Sameness, compare, usual_tolerance};

/// Runs that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// How they are called.
    pub name: String,
    /// The runs.
    pub runs: Vec<Run>,
}

/// One measure of two groups.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasureTable {
    /// Names of the first group and of the one compared with it.
    pub groups: [String; 2],
    /// The measure, its name and unit.
    pub measure: String,
    /// Unit in words.
    pub unit: &'static str,
    /// The comparison; `None` where one of the two has no figure of it.
    pub comparison: Option<Comparison>,
}

/// Compares each group with the first, measure by measure; `within` overrides the tolerances.
pub fn compare_groups(groups: &[Group], within: &[(Measure, f64)]) -> Vec<MeasureTable> {
    let Some((first, others)) = groups.split_first() else {
        return Vec::new();
    };
    let keys: BTreeSet<&String> = groups
        .iter()
        .flat_map(|g| &g.runs)
        .flat_map(|run| run.figures.keys())
        .collect();
    let shared = Measure::ALL
        .into_iter()
        .filter(|m| keys.iter().any(|key| *key == m.key()));
    let known: Vec<Measure> = shared.filter(|m| *m != Measure::Speed).collect();
    others
        .iter()
        .flat_map(|other| known.iter().map(move |measure| (other, *measure)))
        .map(|(other, measure)| {
            let tolerance = within
                .iter()
                .rev()
                .find(|(m, _)| *m == measure)
                .map_or(usual_tolerance(measure), |w| w.1);
            MeasureTable {
                groups: [first.name.clone(), other.name.clone()],
                measure: measure.key().into(),
                unit: measure.unit(),
                comparison: compare(&values(first, measure), &values(other, measure), tolerance),
            }
        })
        .collect()
}

fn values(group: &Group, measure: Measure) -> Vec<f64> {
    group
        .runs
        .iter()
        .filter_map(|run| run.figures.get(measure.key())?.value)
        .collect()
}

fn verdict(comparison: &Comparison) -> (&'static str, String) {
    let tolerance = format!("{}", comparison.within);
    match comparison.says {
        Sameness::Different => ("different", String::new()),
        Sameness::Same => ("same", format!("within {tolerance}")),
        Sameness::CannotTell { more: Some(1) } => {
            ("cannot tell yet", "about 1 more run of each would".into())
        }
        Sameness::CannotTell { more: Some(n) } => (
            "cannot tell yet",
            format!("about {n} more runs of each would"),
        ),
        Sameness::CannotTell { more: None } => (
            "cannot tell yet",
            format!(
                "more than 50 more runs would be needed to call it the same within {tolerance}"
            ),
        ),
    }
}

/// The comparison in words.
pub fn compare_text(tables: &[MeasureTable]) -> String {
    if tables.is_empty() {
        return "Nothing to compare: no figures are recorded of one of them.\n".into();
    }
    let mut text = String::new();
    let mut shown_groups: Option<&[String; 2]> = None;
    for table in tables {
        if shown_groups != Some(&table.groups) {
            let [a, b] = &table.groups;
            text += &format!("{} against {}\n", plain(b), plain(a));
            shown_groups = Some(&table.groups);
        }
        let name: &str = match Measure::of_key(&table.measure) {
            Some(measure) => measure.name(),
            None => &table.measure,
        };
        text += &beside(&format!("  {name:<14}"), 16, &line(table));
    }
    text += "\nEach interval is 95 % from run to run; with several measures, one in twenty differs by chance.\n";
    text
}

fn line(table: &MeasureTable) -> String {
    let Some(c) = &table.comparison else {
        return "one of the two has no figure of it".into();
    };
    let (says, how) = verdict(c);
    let digits = decimals(c.difference.ci95);
    let interval = c.difference.ci95.map_or(String::new(), |ci| {
        format!(" (95 %: {})", shown_range(ci, digits))
    });
    let how = if how.is_empty() {
        how
    } else {
        format!(", {how}")
    };
    format!(
        "{says}{how}: {} → {} {}, difference {}{interval}; {} and {} runs",
        shown(c.means[0], digits),
        shown(c.means[1], digits),
        table.unit,
        shown(c.difference.value.unwrap_or(0.0), digits),
        c.runs[0],
        c.runs[1],
    )
}

/// The comparison as JSON, schema `truerun/compare/1`.
pub fn compare_json(tables: &[MeasureTable]) -> String {
    let rows: Vec<Value> = tables
        .iter()
        .map(|table| {
            let c = table.comparison.as_ref();
            let more = c.and_then(|c| match c.says {
                Sameness::CannotTell { more } => more,
                _ => None,
            });
            json!({
                "first": table.groups[0],
                "second": table.groups[1],
                "measure": table.measure,
                "says": c.map(|c| verdict(c).0),
                "runs": c.map(|c| c.runs),
                "means": c.and_then(|c| stored_pair(Some(c.means))),
                "difference": c.and_then(|c| stored(c.difference.value)),
                "difference_ci95": c.and_then(|c| stored_pair(c.difference.ci95)),
                "p_different": c.and_then(|c| c.p_different),
                "p_same": c.and_then(|c| c.p_same),
                "within": c.map(|c| c.within),
                "more_runs_of_each": more,
            })
        })
        .collect();
    format!(
        "{:#}\n",
        json!({ "schema": "truerun/compare/1", "comparisons": rows })
    )
}
