//! The top of the sheet: the clip, the figures, the verdict in a line.

use super::{Chart, Heading};
use crate::report::swim_text::{figure_lines, set_up_line};

/// The heading of a swim test.
pub fn of(chart: &Chart) -> Heading {
    Heading {
        title: chart.document.clip.file.clone(),
        under: set_up_line(chart.document),
        lines: lines(chart),
    }
}

fn lines(chart: &Chart) -> Vec<(&'static str, String)> {
    let document = chart.document;
    let verdict = document.verdict.map(|verdict| {
        let each: Vec<String> = verdict
            .measures
            .iter()
            .map(|judged| format!("{} {}", judged.measure.name(), judged.call.word()))
            .collect();
        (
            "verdict",
            format!("{} ({})", verdict.overall.word(), each.join(", ")),
        )
    });
    let figures = match document.swim.found {
        true => figure_lines(document.swim, chart.style.unit),
        false => vec![("lure", "none was found".into())],
    };
    verdict.into_iter().chain(figures).collect()
}
