//! The target file: TOML with one key per measure. Every fault names file, line, key and remedy.

use std::ops::Range as Span;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::nearest::nearest;
use super::{Measure, Range, Target};
use crate::{Error, Result};

/// The key that names the lure.
const LURE: &str = "lure";

/// Reads the text of a target file called `name` in messages.
pub fn parse(text: &str, name: &str) -> Result<Target> {
    let page = Page { text, name };
    let table = DeTable::parse(text).map_err(|e| page.not_toml(&e))?;
    let mut target = Target::default();
    for (key, value) in table.get_ref() {
        let entry = Entry {
            page: &page,
            key: key.get_ref(),
            at: key.span(),
        };
        match (Measure::of_key(entry.key), entry.key == LURE) {
            (Some(measure), _) => target.wanted.push((measure, entry.range(measure, value)?)),
            (None, true) => target.lure = Some(entry.text(value)?),
            (None, false) => return Err(entry.unknown(value)),
        }
    }
    target.wanted.sort_by_key(|(measure, _)| *measure);
    Ok(target)
}

struct Page<'a> {
    text: &'a str,
    name: &'a str,
}

impl Page<'_> {
    fn line(&self, span: Option<Span<usize>>) -> usize {
        let at = span.map_or(0, |s| s.start).min(self.text.len());
        1 + self.text.as_bytes()[..at]
            .iter()
            .filter(|b| **b == b'\n')
            .count()
    }

    fn not_toml(&self, error: &toml::de::Error) -> Error {
        Error::setting(
            format!("{}, line {}", self.name, self.line(error.span())),
            one_line(error.message()),
            "write one `key = [low, high]` per line, as `truerun target new` shows",
        )
    }
}

struct Entry<'a> {
    page: &'a Page<'a>,
    key: &'a str,
    at: Span<usize>,
}

impl Entry<'_> {
    fn fault(&self, what: impl Into<String>, remedy: impl Into<String>) -> Error {
        let line = self.page.line(Some(self.at.clone()));
        Error::setting(
            format!("{}, line {line}, {}", self.page.name, self.key),
            what,
            remedy,
        )
    }

    fn unknown(&self, value: &Spanned<DeValue>) -> Error {
        if let DeValue::Table(_) = value.get_ref() {
            return self.fault(
                "no such key, and a target has no headings or groups",
                "leave it out: each key stands by itself, as rate_hz = [4.3, 4.9]",
            );
        }
        let keys = || Measure::ALL.into_iter().map(Measure::key).chain([LURE]);
        let remedy = match nearest(self.key, keys()) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("known keys: {}", keys().collect::<Vec<_>>().join(", ")),
        };
        self.fault("no such key", remedy)
    }

    fn text(&self, value: &Spanned<DeValue>) -> Result<String> {
        match value.get_ref().as_str() {
            Some(text) => Ok(text.to_string()),
            None => Err(self.fault("not a text", "write it in quotes: lure = \"Hazel 58\"")),
        }
    }

    fn range(&self, measure: Measure, value: &Spanned<DeValue>) -> Result<Range> {
        let range = match value.get_ref() {
            DeValue::Array(ends) if ends.len() == 2 => {
                let (lo, hi) = (
                    self.number(measure, &ends[0])?,
                    self.number(measure, &ends[1])?,
                );
                Range::new(lo, hi).ok_or_else(|| {
                    self.fault(
                        format!("the range [{lo}, {hi}] is upside down"),
                        "write the lower end first",
                    )
                })?
            }
            DeValue::Table(parts) => self.tolerance(measure, parts)?,
            DeValue::String(text) => return Err(self.text_for_number(measure, text)),
            _ => return Err(self.wrong_form(measure)),
        };
        self.plausible(measure, range)
    }

    fn tolerance(&self, measure: Measure, parts: &DeTable) -> Result<Range> {
        for key in parts.keys() {
            if !["aim", "within"].contains(&key.get_ref().as_ref()) {
                return Err(self.fault(
                    format!("no such part `{}`", key.get_ref()),
                    format!("write {} = {{ aim = …, within = … }}", self.key),
                ));
            }
        }
        let (Some(aim), Some(within)) = (parts.get("aim"), parts.get("within")) else {
            return Err(self.wrong_form(measure));
        };
        let (aim, within) = (self.number(measure, aim)?, self.number(measure, within)?);
        Range::around(aim, within).ok_or_else(|| {
            self.fault(
                format!("the tolerance {within} is below zero"),
                "write how far off the aim it may be, as a number above zero",
            )
        })
    }

    fn number(&self, measure: Measure, value: &Spanned<DeValue>) -> Result<f64> {
        let read = match value.get_ref() {
            DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix())
                .ok()
                .map(|n| n as f64),
            DeValue::Float(x) => x.as_str().parse::<f64>().ok(),
            DeValue::String(text) => return Err(self.text_for_number(measure, text)),
            _ => return Err(self.wrong_form(measure)),
        };
        read.filter(|x| x.is_finite())
            .ok_or_else(|| self.wrong_form(measure))
    }

    fn text_for_number(&self, measure: Measure, text: &str) -> Error {
        self.fault(
            format!("\"{text}\" is text, not a number"),
            format!(
                "the key carries the unit ({}), so write numbers only: {} = {}",
                measure.unit(),
                self.key,
                measure.example()
            ),
        )
    }

    fn wrong_form(&self, measure: Measure) -> Error {
        self.fault(
            "not a range",
            format!(
                "write [low, high] or {{ aim = …, within = … }}: {} = {}",
                self.key,
                measure.example()
            ),
        )
    }

    fn plausible(&self, measure: Measure, range: Range) -> Result<Range> {
        let [least, most] = measure.plausible();
        // A tolerance may reach past what is possible (a pull of 0 ± 2 darts); a range wholly or by
        // its upper end outside is a wrong unit.
        if range.hi > most || range.hi < least || (least < 0.0 && range.lo < least) {
            return Err(self.fault(
                format!(
                    "{} to {} {} cannot be meant",
                    range.lo,
                    range.hi,
                    measure.unit()
                ),
                format!(
                    "{} lies between {least} and {most} {}",
                    measure.name(),
                    measure.unit()
                ),
            ));
        }
        Ok(range)
    }
}

/// The first line of a message, so that a fault stays one line.
fn one_line(message: &str) -> String {
    message.lines().next().unwrap_or_default().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(text: &str) -> String {
        parse(text, "hazel58.toml").unwrap_err().to_string()
    }

    #[test]
    fn reads_ranges_and_tolerances() {
        let target = parse(
            "lure = \"Hazel 58\"\nrate_hz = [4.3, 4.9]\nwidth_deg = { aim = 16, within = 2.5 }\n\
             drift_deg = [-1, 2]\n",
            "t",
        )
        .unwrap();
        assert_eq!(target.lure.as_deref(), Some("Hazel 58"));
        assert_eq!(target.range(Measure::Rate), Range::new(4.3, 4.9));
        assert_eq!(target.range(Measure::Width), Range::new(13.5, 18.5));
        assert_eq!(target.range(Measure::Drift), Range::new(-1.0, 2.0));
        assert_eq!(target.range(Measure::Pivot), None);
    }

    #[test]
    fn an_empty_file_wants_nothing() {
        assert_eq!(parse("# nothing yet\n", "t").unwrap(), Target::default());
    }

    #[test]
    fn a_typo_names_line_key_and_the_key_meant() {
        let line = fault("# Hazel\nrate_hz = [4, 5]\nwidht_deg = [1, 2]\n");
        assert_eq!(
            line,
            "hazel58.toml, line 3, widht_deg: no such key; did you mean `width_deg`?"
        );
        assert!(fault("colour = 3").contains("known keys: rate_hz"));
        assert!(fault("[wobble]\nrate_hz = [4, 5]").contains("line 1, wobble: no such key"));
        assert!(fault("wobble.rate_hz = [4, 5]").contains("each key stands by itself"));
    }

    #[test]
    fn a_wrong_unit_is_told() {
        assert!(fault("rate_khz = [1, 2]").contains("did you mean `rate_hz`?"));
        assert!(fault("rate_hz = \"4.6 Hz\"").contains("numbers only: rate_hz = [4.3, 4.9]"));
        assert!(fault("rate_hz = [4300, 4900]").contains("between 0 and 60 Hz"));
        assert!(fault("pivot_from_nose = [35, 45]").contains("between 0 and 1"));
        assert!(fault("drift_deg = [-100, 0]").contains("between -60 and 60 degrees"));
    }

    #[test]
    fn a_form_that_cannot_be_meant_is_told() {
        for (text, says) in [
            ("rate_hz = 4.6", "not a range"),
            ("rate_hz = [4.6]", "not a range"),
            ("rate_hz = [5, 4]", "upside down"),
            ("rate_hz = [nan, 5]", "not a range"),
            ("rate_hz = [1, inf]", "not a range"),
            ("rate_hz = { aim = 4 }", "not a range"),
            ("rate_hz = { aim = 4, witin = 1 }", "no such part `witin`"),
            ("rate_hz = { aim = 4, within = -1 }", "below zero"),
            ("rate_hz = [4, 5", "hazel58.toml, line 1"),
            ("rate_hz = [4, 5]\nrate_hz = [4, 5]", "line 2"),
            ("lure = 58", "not a text"),
            ("[rate_hz]\nlo = 3", "no such part `lo`"),
        ] {
            let line = fault(text);
            assert!(line.contains(says), "{text}: {line}");
            assert_eq!(line.lines().count(), 1, "{line}");
        }
    }
    proptest::proptest! {
        /// Whatever is in the file: a target or one line, never a panic.
        #[test]
        fn any_text_gives_a_target_or_one_line(
            key in "rate_hz|drift_deg|lure|\\PC{0,6}",
            value in "\\[-?[0-9]{1,4}\\.?[0-9]?, ?-?[0-9]{1,4}\\]|\\{ aim = -?[0-9.]{1,5}, within = [0-9e.]{1,5} \\}|\\PC{0,12}",
        ) {
            if let Err(e) = parse(&format!("# é\n{key} = {value}\n"), "t") {
                proptest::prop_assert_eq!(e.to_string().lines().count(), 1);
            }
        }
    }
}
