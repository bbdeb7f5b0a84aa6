//! What the values of options are made of: numbers, ranges, lengths with their unit.

use truerun::units::MM_PER_INCH;

/// A value, or in words why the text is none.
pub type Read<T> = std::result::Result<T, String>;

/// Units of length and what one of each is in mm; those that end another one come after it.
const LENGTHS: [(&str, f64); 6] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("m", 1000.0),
    ("ft", 12.0 * MM_PER_INCH),
    ("in", MM_PER_INCH),
    ("\"", MM_PER_INCH),
];

/// A finite number.
pub fn number(text: &str) -> Read<f64> {
    match text.trim().parse::<f64>() {
        Ok(x) if x.is_finite() => Ok(x),
        _ => Err(format!("`{}` is not a number", text.trim())),
    }
}

/// A number from `least` to `most`.
pub fn between(text: &str, least: f64, most: f64, unit: &str) -> Read<f64> {
    let form = format!("give {least} to {most} {unit}");
    let x = number(text).map_err(|e| format!("{e}; {form}"))?;
    match (least..=most).contains(&x) {
        true => Ok(x),
        false => Err(format!("cannot be meant; {form}")),
    }
}

/// A length as mm: `58`, `58mm`, `5.8cm`, `0.058m`, `0.19ft` or `2.3in`; one without a unit is in
/// units of `bare_mm`.
pub fn length_mm(text: &str, bare_mm: f64) -> Read<f64> {
    let text = text.trim();
    let (digits, factor) = LENGTHS
        .iter()
        .find_map(|(unit, factor)| Some((text.strip_suffix(unit)?, *factor)))
        .unwrap_or((text, bare_mm));
    Ok(number(digits)? * factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_in_any_unit() {
        for text in ["58", "58 mm", "5.8cm", "0.058m"] {
            assert!(
                (length_mm(text, 1.0).unwrap() - 58.0).abs() < 1e-9,
                "{text}"
            );
        }
        assert!((length_mm("2.3in", 1.0).unwrap() - 58.42).abs() < 1e-9);
        assert!((length_mm("1.2", 1000.0).unwrap() - 1200.0).abs() < 1e-9);
        assert!((length_mm("4ft", 1000.0).unwrap() - 1219.2).abs() < 1e-9);
        for wrong in ["", "mm", "58km", "NaN", "inf", "1e400"] {
            assert!(length_mm(wrong, 1.0).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_is_out_of_range_is_told_the_range() {
        for wrong in ["9", "-9", "nan", "five"] {
            let told = between(wrong, 1.0, 5.0, "mm").unwrap_err();
            assert!(told.ends_with("; give 1 to 5 mm"), "{told}");
        }
    }
}
