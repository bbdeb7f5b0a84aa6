//! A lens on disk: a small TOML file per phone and mode.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::{Lens, LensFigures};
use crate::{Error, Result};

const SCHEMA: &str = "truerun/lens/1";
const REMEDY: &str = "make it anew with `truerun plan --lens`";

const HEAD: &str = "\
# Lens of one phone in one mode (zoom, size, steadying), made by `truerun plan --lens`.
# Lengths in px of the picture as it was shown; the centre of its top-left pixel lies at 0.5, 0.5.
# [lens] holds focal lengths, centre and distortion (radial k, tangential p); [sd] how well each is known.

";

/// What stands in the file.
#[derive(Serialize, Deserialize)]
struct LensFile {
    schema: String,
    made_with: String,
    #[serde(flatten)]
    lens: Lens,
}

/// `lens` as the text of a lens file.
///
/// # Errors
/// [`Error::Setting`] where a figure cannot be written (never for a lens that was calibrated).
pub fn lens_text(lens: &Lens) -> Result<String> {
    let file = LensFile {
        schema: SCHEMA.into(),
        made_with: format!("truerun {}", env!("CARGO_PKG_VERSION")),
        lens: lens.clone(),
    };
    toml::to_string(&file)
        .map(|text| format!("{HEAD}{text}"))
        .map_err(|e| Error::setting("--out", e.to_string(), "calibrate again"))
}

/// Reads a lens file.
///
/// # Errors
/// [`Error::File`] where it cannot be read, [`Error::Unreadable`] where it is not a lens file or its figures
/// cannot be those of a phone.
pub fn read_lens(path: &Path) -> Result<Lens> {
    const LARGEST: u64 = 64 * 1024;
    let fault = |what: String| Error::unreadable(path, what, REMEDY);
    let size = std::fs::metadata(path).map_err(|e| Error::file(path, e))?;
    if !size.is_file() || size.len() > LARGEST {
        return Err(fault("is not a lens file".into()));
    }
    let bytes = std::fs::read(path).map_err(|e| Error::file(path, e))?;
    let text = String::from_utf8(bytes).map_err(|_| fault("is not a lens file".into()))?;
    let file: LensFile = toml::from_str(&text).map_err(|e| fault(damage(&text, &e)))?;
    if file.schema != SCHEMA {
        return Err(fault(format!(
            "is of the form `{}`, and this program reads `{SCHEMA}`",
            file.schema.chars().take(40).collect::<String>()
        )));
    }
    match implausible(&file.lens) {
        Some(what) => Err(fault(what)),
        None => Ok(file.lens),
    }
}

/// What is wrong with a file that cannot be read, with its line where that is known.
fn damage(text: &str, e: &toml::de::Error) -> String {
    let what = e.message().lines().next().unwrap_or("damaged").to_string();
    match e.span() {
        Some(span) if span.start > 0 => {
            let line = text[..span.start.min(text.len())].matches('\n').count() + 1;
            format!("is no lens file or is damaged: line {line}: {what}")
        }
        _ => format!("is no lens file or is damaged: {what}"),
    }
}

/// Why the figures cannot be those of a phone's lens, where they cannot.
fn implausible(lens: &Lens) -> Option<String> {
    let (f, sd) = (&lens.lens, &lens.sd);
    let all = |f: &LensFigures| [f.fx, f.fy, f.cx, f.cy, f.k1, f.k2, f.p1, f.p2, f.k3];
    let [width, height] = [f64::from(lens.width), f64::from(lens.height)];
    let long = width.max(height);
    let finite = all(f).iter().chain(&all(sd)).all(|x| x.is_finite());
    let kept = finite
        && (16..=32_768).contains(&lens.width)
        && (16..=32_768).contains(&lens.height)
        && lens.turned_deg % 90 == 0
        && lens.turned_deg < 360
        && (0.2 * long..=20.0 * long).contains(&f.fx)
        && (0.8..=1.25).contains(&(f.fx / f.fy))
        && (0.0..=width).contains(&f.cx)
        && (0.0..=height).contains(&f.cy)
        && all(sd).iter().all(|s| *s >= 0.0)
        && lens.rms_px.is_finite()
        && (0.05..=1.5).contains(&lens.seen_to);
    (!kept).then(|| "holds figures that no phone's lens has".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lens() -> Lens {
        Lens {
            width: 1920,
            height: 1080,
            turned_deg: 0,
            under_water: false,
            rms_px: 0.21,
            views: 18,
            views_left_out: 1,
            seen_to: 0.93,
            lens: LensFigures {
                fx: 1500.25,
                fy: 1501.5,
                cx: 962.0,
                cy: 541.0,
                k1: 0.12,
                k2: -0.3,
                ..LensFigures::default()
            },
            sd: LensFigures {
                fx: 2.0,
                fy: 2.0,
                cx: 1.5,
                cy: 1.4,
                k1: 0.004,
                k2: 0.02,
                ..LensFigures::default()
            },
        }
    }

    fn read(text: &str) -> Result<Lens> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("phone.toml");
        std::fs::write(&path, text).unwrap();
        read_lens(&path)
    }

    #[test]
    fn what_is_written_is_read() {
        assert_eq!(read(&lens_text(&lens()).unwrap()).unwrap(), lens());
    }

    #[test]
    fn damaged_files_are_told_in_one_line() {
        let good = lens_text(&lens()).unwrap();
        let wrong = [
            "".to_string(),
            "lure = \"Hazel 58\"\n".into(),
            good[..good.len() / 2].into(),
            good.replace("truerun/lens/1", "truerun/lens/9"),
            good.replace("1500.25", "nan"),
            good.replace("1500.25", "3.0"),
            good.replace("1500.25", "\"wide\""),
            good.replace("turned_deg = 0", "turned_deg = 45"),
            good.replace("[sd]", "[sd"),
            "\u{0}\u{1}".into(),
        ];
        for text in wrong {
            let fault = read(&text).unwrap_err();
            let said = fault.to_string();
            assert!(
                said.contains("phone.toml") && !said.contains('\n'),
                "{said}"
            );
            assert_eq!(fault.exit_status(), 1);
        }
        let folder = tempfile::tempdir().unwrap();
        assert!(read_lens(folder.path()).is_err());
        assert!(read_lens(&folder.path().join("absent.toml")).is_err());
    }
}
