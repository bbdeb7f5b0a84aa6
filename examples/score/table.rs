//! The table that is printed.

use super::compare::{Against, MEASURES, Score};

/// The table's heading. Each figure stands before its truth; `!` marks a truth outside the interval, `~` a
/// width as it looks only, `–` what was not measured or has no truth.
pub fn heading() -> String {
    let figures = [
        "rate, Hz",
        "width, °",
        "sweep, mm",
        "drift, °",
        "pivot",
        "speed, m/s",
    ];
    let over = figures.map(|f| format!("{f:<15}")).concat();
    let under = "found  truth   ".repeat(figures.len());
    let row = |start: [&str; 5], figures: &str, end: &str| {
        let [name, start, found, seen, wrongly] = start;
        format!("{name:<19} {start:<7} {found:<5} {seen:>5} {wrongly:>5}  {figures}{end}")
    };
    [
        row(
            ["", "", "lure", "seen", "seen"],
            &over,
            "darts right   blow- axis  middle rate",
        ),
        row(
            ["clip", "start", "found", "%", "wrong"],
            &under,
            "/all+invented out   °RMS  %RMS   told as",
        ),
    ]
    .join("\n")
}

/// One run.
pub fn row(name: &str, start: &str, score: &Score) -> String {
    let figures = score.intervals().map(|(name, against)| {
        let (places, rough) = match name {
            "rate" => (3, false),
            "sweep" => (1, false),
            "width" => (2, score.apparent),
            _ => (2, false),
        };
        cell(against, places, rough)
    });
    let darts = &score.darts;
    let found = if score.found { "yes" } else { "no" };
    let blow_out = if score.blow_out_right { "ok" } else { "wrong" };
    format!(
        "{name:<19} {start:<7} {found:<5} {:>5.0} {:>5}  {}{:<14}{blow_out:<6}{:<6.1}{:<7.1}{}",
        100.0 * score.frames.seen,
        score.frames.wrongly,
        figures.concat(),
        format!("{}/{}+{}", darts.right, darts.all, darts.invented),
        score.frames.axis_rms_deg,
        100.0 * score.frames.centre_rms,
        score.rate_said,
    )
}

/// What went wrong in one run, a line each: intervals that miss the truth, darts missed and invented.
pub fn misses(name: &str, start: &str, score: &Score) -> Vec<String> {
    let intervals = score.intervals().into_iter().filter_map(|(figure, x)| {
        let [low, high] = x.interval.filter(|_| x.holds == Some(false))?;
        let (value, truth) = (x.value?, x.truth);
        Some(format!(
            "{figure} {value:.3} [{low:.3}, {high:.3}], truth {truth:.3}"
        ))
    });
    let darts = &score.darts;
    let off = darts.right < darts.all || darts.invented > 0;
    let darts = off.then(|| {
        let list = |darts: &[String]| match darts.is_empty() {
            true => "none".to_owned(),
            false => darts.join(", "),
        };
        format!(
            "darts told: {}; true: {}",
            list(&darts.told),
            list(&darts.true_ones)
        )
    });
    let told = intervals.chain(darts);
    told.map(|what| format!("  {name}, {start}: {what}"))
        .collect()
}

/// How many intervals hold the truth, in all and by measure.
pub fn holding(scores: &[Score]) -> String {
    let count = |wanted: Option<&str>| {
        let told = scores
            .iter()
            .flat_map(|s| s.intervals())
            .filter(|(name, _)| wanted.is_none_or(|w| w == *name))
            .filter_map(|(_, against)| against.holds);
        let (held, all) = told.fold((0, 0), |(held, all), holds| {
            (held + usize::from(holds), all + 1)
        });
        format!("{held} of {all}")
    };
    let each = MEASURES.map(|name| format!("{name} {}", count(Some(name))));
    format!(
        "intervals that hold the truth: {} ({})",
        count(None),
        each.join(", ")
    )
}

fn cell(against: &Against, places: usize, rough: bool) -> String {
    let number = |x: f64| match x.is_finite() {
        true => format!("{x:.places$}"),
        false => "–".to_owned(),
    };
    let mark = match (against.holds, rough) {
        (Some(false), _) => '!',
        (_, true) => '~',
        _ => ' ',
    };
    let found = against.value.map_or("–".to_owned(), number);
    format!("{found:>5}{mark} {:<8}", number(against.truth))
}
