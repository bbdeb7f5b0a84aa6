//! The table that is printed.

use super::compare::{Against, Score};

/// The table's heading. A figure stands before its truth; `!` marks a truth outside the interval, `~` a
/// width as it looks, `–` what was not measured.
pub const HEADING: &str = "\
clip                 start   found seen% false  rate: Hz             width°          sweep mm        drift°          pivot          speed m/s      darts blow  axis°  mid%
                                               found  true     found   true    found   true    found   true    found true     found true     ok/all+ -out    RMS   RMS";

/// One run.
pub fn row(name: &str, start: &str, score: &Score) -> String {
    let darts = &score.darts;
    format!(
        "{name:<20} {start:<7} {:<5} {:>5.0} {:>5}  {} {:<9} {}{} {} {} {} {}  {}/{}+{} {:>4} {:>6.2} {:>5.1}",
        if score.found { "yes" } else { "no" },
        100.0 * score.frames.seen,
        score.frames.wrongly,
        cell(&score.rate, 3),
        if score.rate_said == "measured" {
            ""
        } else {
            score.rate_said
        },
        cell(&score.width, 2),
        if score.apparent { "~" } else { " " },
        cell(&score.sweep, 1),
        cell(&score.drift, 2),
        cell(&score.pivot, 2),
        cell(&score.speed, 2),
        darts.right,
        darts.all,
        darts.invented,
        if score.blow_out_right { "ok" } else { "NO" },
        score.frames.axis_rms_deg,
        100.0 * score.frames.centre_rms,
    )
}

/// How many intervals hold the truth, in all and by measure.
pub fn holding(scores: &[Score]) -> String {
    let names: Vec<&str> = scores
        .first()
        .map(|s| s.intervals().map(|(name, _)| name).to_vec())
        .unwrap_or_default();
    let count = |wanted: Option<&str>| {
        let told = scores
            .iter()
            .flat_map(|s| s.intervals())
            .filter(|(name, _)| wanted.is_none_or(|w| w == *name))
            .filter_map(|(_, against)| against.holds);
        told.fold((0, 0), |(held, all), holds| {
            (held + usize::from(holds), all + 1)
        })
    };
    let of = |(held, all): (usize, usize)| format!("{held} of {all}");
    let each: Vec<String> = names
        .iter()
        .map(|name| format!("{name} {}", of(count(Some(name)))))
        .collect();
    format!(
        "intervals that hold the truth: {} ({})",
        of(count(None)),
        each.join(", ")
    )
}

fn cell(against: &Against, places: usize) -> String {
    let number = |x: f64| match x.is_finite() {
        true => format!("{x:.places$}"),
        false => "–".to_owned(),
    };
    let mark = if against.holds == Some(false) {
        "!"
    } else {
        " "
    };
    let found = against.value.map_or("–".to_owned(), number);
    format!("{found:>6}{mark}{:>6}", number(against.truth))
}
