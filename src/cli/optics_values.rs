//! Values of the options on scale, lens and depth: read from text, refused in words.

use truerun::camera::{Board, Ruler, SurfaceMark};
use truerun::swim_test::BoardAt;
use truerun::water::Water;

use super::read::{self, Read, number};

/// Most squares along a side of a board.
const MOST_SQUARES: usize = 60;

/// How far away the lure is against the yardstick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Farther {
    /// This many times as far.
    Times(f64),
    /// The yardstick floats on the surface.
    Afloat,
}

/// `x1,y1,x2,y2,MM`: two points and the way between them.
pub fn ruler(text: &str) -> Read<Ruler> {
    let form = "give x1,y1,x2,y2,length, as 120,300,520,310,200mm";
    let parts: Vec<&str> = text.split(',').collect();
    let [x1, y1, x2, y2, long] = parts[..] else {
        return Err(format!(
            "a ruler has five numbers, not {}; {form}",
            parts.len()
        ));
    };
    let all = [x1, y1, x2, y2].map(|text| number(text).map_err(|e| format!("{e}; {form}")));
    let [x1, y1, x2, y2] = all;
    let found = Ruler {
        from: [x1?, y1?],
        to: [x2?, y2?],
        mm: size_mm(long, 1.0, 10_000.0).map_err(|e| format!("{e}; {form}"))?,
    };
    if found.length_px() <= 0.0 {
        return Err(format!("both its ends lie on one point; {form}"));
    }
    Ok(found)
}

/// `9x6,20mm@1.5`.
pub fn board_at(text: &str) -> Read<BoardAt> {
    let (board_text, t_s) = text.split_once('@').unwrap_or((text, "0"));
    let found = board(board_text)?;
    if found.square_mm.is_none() {
        return Err("give the side of a square too, as 9x6,20mm".into());
    }
    let form = "give the second of the clip after @, as 9x6,20mm@1.5";
    let t_s = number(t_s).map_err(|e| format!("{e}; {form}"))?;
    if t_s < 0.0 {
        return Err(format!("a clip has no time before 0; {form}"));
    }
    Ok(BoardAt { board: found, t_s })
}

/// `9x6` or `9x6,20mm`: squares along and across, and the side of one.
pub fn board(text: &str) -> Read<Board> {
    let form =
        "give the squares along and across (not the corners) and the side of one, as 9x6,20mm";
    let (count, size) = match text.split_once(',') {
        Some((count, size)) => (count, Some(size)),
        None => (text, None),
    };
    let sides = count
        .split_once(['x', 'X', '×'])
        .and_then(|(a, b)| Some((a.trim().parse().ok()?, b.trim().parse().ok()?)));
    let Some((columns, rows)) = sides else {
        return Err(form.into());
    };
    let fits = 4..=MOST_SQUARES;
    if !fits.contains(&columns) || !fits.contains(&rows) {
        return Err(format!(
            "a board of {columns} × {rows} squares is none to measure by: 4 to {MOST_SQUARES} to a side; {form}"
        ));
    }
    Ok(Board {
        columns,
        rows,
        square_mm: size.map(|size| size_mm(size, 1.0, 1000.0)).transpose()?,
    })
}

/// How far away the lure is against the yardstick.
pub fn farther(text: &str) -> Read<Farther> {
    if text.trim() == "afloat" {
        return Ok(Farther::Afloat);
    }
    let times = number(text).map_err(|e| format!("{e}; give a number, or afloat"))?;
    if (0.1..=10.0).contains(&times) {
        return Ok(Farther::Times(times));
    }
    Err("give how many times as far as the ruler the lure is, 0.1 to 10, or afloat".into())
}

/// Temperature and salinity.
pub fn water_at(text: &str) -> Read<Water> {
    let (celsius, salinity) = text.split_once(',').unwrap_or((text, "0"));
    let figure = |text| {
        number(text).map_err(|e| format!("{e}; give degrees Celsius and salinity, as 12 or 12,35"))
    };
    Water::new(figure(celsius)?, figure(salinity)?).map_err(|e| e.to_string())
}

/// A row of the picture, or two points.
pub fn surface(text: &str) -> Read<SurfaceMark> {
    let form = "give y, or x1,y1,x2,y2, in pixels";
    let numbers: Vec<f64> = text
        .split(',')
        .map(number)
        .collect::<Read<_>>()
        .map_err(|e| format!("{e}; {form}"))?;
    match numbers[..] {
        [y] => Ok(SurfaceMark::Level(y)),
        [x1, y1, x2, y2] => Ok(SurfaceMark::Line([[x1, y1], [x2, y2]])),
        _ => Err(format!(
            "the surface is one row or two points, not {} numbers; {form}",
            numbers.len()
        )),
    }
}

/// Height of a camera above the water, m, as mm.
pub fn camera_height_mm(text: &str) -> Read<f64> {
    metres(text, 0.1, 50.0)
}

/// Line let out, m, as mm.
pub fn line_out_mm(text: &str) -> Read<f64> {
    metres(text, 0.5, 500.0)
}

/// A known depth, mm.
pub fn depth_mm(text: &str) -> Read<f64> {
    size_mm(text, 10.0, 20_000.0)
}

fn metres(text: &str, least: f64, most: f64) -> Read<f64> {
    let form = format!("give {least} to {most} m, as 1.8, 1.8m or 6ft");
    let mm = read::length_mm(text, 1000.0).map_err(|e| format!("{e}; {form}"))?;
    match (least * 1000.0..=most * 1000.0).contains(&mm) {
        true => Ok(mm),
        false => Err(format!("{} m cannot be meant; {form}", mm / 1000.0)),
    }
}

/// `200`, `200mm`, `20cm`, `0.2m` or `8in`, as mm.
fn size_mm(text: &str, least: f64, most: f64) -> Read<f64> {
    let form = format!("give {least} to {most} mm, as 200, 200mm or 8in");
    let mm = read::length_mm(text, 1.0).map_err(|e| format!("{e}; {form}"))?;
    match (least..=most).contains(&mm) {
        true => Ok(mm),
        false => Err(format!("{mm} mm cannot be meant; {form}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rulers() {
        let found = ruler("120,300,520,310,20cm").unwrap();
        assert_eq!((found.to, found.mm), ([520.0, 310.0], 200.0));
        assert!((ruler("0,0,9,9,8in").unwrap().mm - 203.2).abs() < 1e-9);
        for wrong in [
            "",
            "1,2,3,4",
            "1,2,1,2,100",
            "1,2,3,4,0",
            "1,2,3,4,-5",
            "1,2,3,4,nan",
            "1,2,inf,4,100",
            "1,2,3,4,5,6",
            "a,2,3,4,5",
        ] {
            assert!(ruler(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn boards() {
        let found = board_at("9x6,20mm@1.5").unwrap();
        assert_eq!((found.board.columns, found.board.rows), (9, 6));
        assert_eq!((found.board.square_mm, found.t_s), (Some(20.0), 1.5));
        assert_eq!(board("10x7").unwrap().square_mm, None);
        for wrong in [
            "", "9", "9x", "x6", "3x6", "9x600", "9x6,0", "9x6,nan", "9.5x6",
        ] {
            assert!(board(wrong).is_err(), "{wrong}");
        }
        for wrong in ["9x6", "9x6,20@-1", "9x6,20@"] {
            assert!(board_at(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn surfaces_heights_and_water() {
        assert_eq!(surface("80"), Ok(SurfaceMark::Level(80.0)));
        assert!(surface("1,2,3").is_err() && surface("nan").is_err());
        assert_eq!(camera_height_mm("1.8"), Ok(1800.0));
        assert_eq!(line_out_mm("12m"), Ok(12_000.0));
        assert!(camera_height_mm("-1").is_err() && line_out_mm("0").is_err());
        assert_eq!(water_at("12,35"), Ok(Water::sea(12.0)));
        assert!(water_at("60").is_err() && water_at("12,99").is_err() && water_at("x").is_err());
        assert_eq!(farther("1.2"), Ok(Farther::Times(1.2)));
        assert_eq!(farther("afloat"), Ok(Farther::Afloat));
        assert!(farther("0").is_err() && farther("near").is_err());
    }
}
