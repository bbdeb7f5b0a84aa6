//! Plain text in 80 columns: labels on the left, wrapped text beside them, colour only on a terminal.

use crate::units::LengthUnit;

/// Columns of the text.
const COLUMNS: usize = 80;
/// Columns taken by an indented label.
const LABEL: usize = 16;

/// How text is to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct TextStyle {
    /// In which unit lengths are shown.
    pub unit: LengthUnit,
    /// Whether colour codes may be used.
    pub colour: bool,
}

/// Colours of single words; the words alone say all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// As wanted.
    Good,
    /// Not as wanted.
    Bad,
    /// Not sure.
    Unsure,
    /// A heading.
    Heading,
}

impl TextStyle {
    /// `text` in `ink` where colour may be used.
    pub fn paint(&self, ink: Ink, text: &str) -> String {
        let code = match ink {
            Ink::Good => "32",
            Ink::Bad => "31",
            Ink::Unsure => "33",
            Ink::Heading => "1",
        };
        match self.colour {
            true => format!("\u{1b}[{code}m{text}\u{1b}[0m"),
            false => text.to_string(),
        }
    }
}

/// A label, and text wrapped beside it.
pub fn entry(label: &str, text: &str) -> String {
    beside(
        &format!("  {label:<width$}", width = LABEL - 2),
        LABEL,
        text,
    )
}

/// Text wrapped behind `head`, which takes up `width` columns (it may hold colour codes).
pub fn beside(head: &str, width: usize, text: &str) -> String {
    let indent = " ".repeat(width);
    let lines: String = wrap(text, COLUMNS - width)
        .iter()
        .enumerate()
        .map(|(i, line)| format!("{}{line}\n", if i == 0 { head } else { &indent }))
        .collect();
    lines
}

/// `text` broken at spaces into lines of at most `columns` characters (a longer word stands alone).
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let line = &mut lines[last];
        let fits = line.chars().count() + 1 + word.chars().count() <= columns;
        if line.is_empty() {
            line.push_str(word);
        } else if fits {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_string());
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_text_stays_in_its_columns() {
        let text = entry("drift", &"runs to its own right ".repeat(9));
        assert!(text.lines().count() > 1);
        assert!(text.lines().all(|line| line.chars().count() <= COLUMNS));
        assert!(
            text.lines()
                .skip(1)
                .all(|line| line.starts_with(&" ".repeat(LABEL)))
        );
    }

    #[test]
    fn no_codes_without_colour() {
        let plain = TextStyle::default();
        assert_eq!(plain.paint(Ink::Bad, "outside"), "outside");
        let colour = TextStyle {
            colour: true,
            ..plain
        };
        assert!(colour.paint(Ink::Bad, "outside").contains("\u{1b}[31m"));
    }
}
