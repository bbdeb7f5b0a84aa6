//! The word that was probably meant.

/// The word of `known` that is nearest to `typed`, or `None` where nothing is near: more than half
/// of the letters would have to change.
pub fn nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    known
        .into_iter()
        .map(|word| (edits(&typed.to_lowercase(), word), word))
        .filter(|(edits, word)| *edits <= word.chars().count().div_ceil(2))
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, word)| word)
}

/// Single-letter insertions, deletions and changes that turn `a` into `b` (Levenshtein 1966),
/// in O(|a|·|b|) time with one row kept.
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let changed = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// kitten → sitting is three edits: the textbook example (from memory).
    #[test]
    fn counts_edits() {
        assert_eq!(edits("kitten", "sitting"), 3);
        assert_eq!(edits("", "abc"), 3);
        assert_eq!(edits("abc", "abc"), 0);
    }

    #[test]
    fn names_the_word_meant_and_no_other() {
        let known = ["rate_hz", "width_deg", "drift_deg"];
        assert_eq!(nearest("rate_khz", known), Some("rate_hz"));
        assert_eq!(nearest("Widht_deg", known), Some("width_deg"));
        assert_eq!(nearest("colour", known), None);
    }
}
