//! Values of options: read from text, refused in words where they cannot be meant.

use truerun::camera::{BodyEnd, Side, View};
use truerun::record::{ChangeKind, Water};
use truerun::tracking::StartBox;
use truerun::tuning::Measure;
use truerun::water::buoyancy::{Hung, Material};
use truerun::water::{COLDEST_C, SALTIEST, WARMEST_C};

use super::read::{self, Read, between, number};

/// `58`, `58mm`, `5.8cm` or `2.3in`, as mm. Lures are 10 to 500 mm long.
pub fn length_mm(text: &str) -> Read<f64> {
    let form = "give the body without lip, 10 to 500 mm, as 58, 58mm or 2.3in";
    let mm = read::length_mm(text, 1.0).map_err(|e| format!("{e}; {form}"))?;
    if (10.0..=500.0).contains(&mm) {
        return Ok(mm);
    }
    Err(format!("{mm} mm is no lure's length; {form}"))
}

/// `x,y,w,h` or `x,y,w,h@t`: pixels of the displayed picture, seconds.
pub fn start_box(text: &str) -> Read<StartBox> {
    let form = "give x,y,w,h or x,y,w,h@seconds, as 310,150,60,40@1.5";
    let (sides, t_s) = text.split_once('@').unwrap_or((text, "0"));
    let numbers: Vec<f64> = sides
        .split(',')
        .map(number)
        .collect::<Read<_>>()
        .map_err(|e| format!("{e}; {form}"))?;
    let t_s = number(t_s).map_err(|e| format!("{e}; {form}"))?;
    let [x, y, w, h] = numbers[..] else {
        return Err(format!(
            "a box has four numbers, not {}; {form}",
            numbers.len()
        ));
    };
    if w < 1.0 || h < 1.0 {
        return Err(format!("a box {w} wide and {h} high holds nothing; {form}"));
    }
    if t_s < 0.0 {
        return Err(format!("a clip has no time before 0; {form}"));
    }
    Ok(StartBox { x, y, w, h, t_s })
}

/// From where the lure is filmed.
pub fn view(text: &str) -> Read<View> {
    [View::Above, View::Behind, View::Ahead, View::Side]
        .into_iter()
        .find(|view| view.word() == text)
        .ok_or_else(|| "no such view; give above, behind, ahead or side".into())
}

/// From where a floating lure is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TakenFrom {
    Side,
    End,
}

/// From where a floating lure is taken.
pub fn taken_from(text: &str) -> Read<TakenFrom> {
    match text {
        "side" => Ok(TakenFrom::Side),
        "end" => Ok(TakenFrom::End),
        _ => Err("no such view; give side or end".into()),
    }
}

/// The end of the body that the camera looks at.
pub fn body_end(text: &str) -> Read<BodyEnd> {
    [BodyEnd::Nose, BodyEnd::Tail]
        .into_iter()
        .find(|end| end.word() == text)
        .ok_or_else(|| "no such end; give nose or tail: the end nearer to the camera".into())
}

/// Side of the picture.
pub fn picture_side(text: &str) -> Read<Side> {
    [Side::Left, Side::Right]
        .into_iter()
        .find(|side| side.word() == text)
        .ok_or_else(|| "no such side; give left or right, as it is in the picture".into())
}

/// How far level is turned in the picture.
pub fn horizon_deg(text: &str) -> Read<f64> {
    between(text, -45.0, 45.0, "degrees, clockwise")
}

/// Volume of a lure.
pub fn volume_cm3(text: &str) -> Read<f64> {
    between(text, 0.1, 1000.0, "cm³")
}

/// Practical salinity.
pub fn salinity(text: &str) -> Read<f64> {
    between(text, 0.0, SALTIEST, "(0 is fresh, 35 the open sea)")
}

/// Weights in place of hooks: `1.2` or `1.2,tungsten`.
pub fn stand_in(text: &str) -> Read<Hung> {
    let (g, metal) = text.split_once(',').unwrap_or((text, "lead"));
    let material = Material::NAMED
        .into_iter()
        .find(|m| m.word() == metal.trim())
        .ok_or("no such metal; give grams and metal, as 1.2,lead (or tungsten, steel)")?;
    Ok(Hung {
        mass_g: between(g, 0.01, 200.0, "g")?,
        material,
    })
}

/// An image direction in degrees, brought into 0 to 360.
pub fn direction_deg(text: &str) -> Read<f64> {
    between(
        text,
        -360.0,
        360.0,
        "degrees, clockwise from the top of the picture",
    )
    .map(|d| d.rem_euclid(360.0))
}

/// How far the camera looks down.
pub fn tilt_deg(text: &str) -> Read<f64> {
    between(
        text,
        0.0,
        90.0,
        "degrees below the horizontal (90 is straight down)",
    )
}

/// Field of view of the long side.
pub fn fov_deg(text: &str) -> Read<f64> {
    between(text, 1.0, 179.0, "degrees along the picture's long side")
}

/// Frame rate at which a slow-motion clip was filmed.
pub fn frame_rate(text: &str) -> Read<f64> {
    between(text, 1.0, 10_000.0, "frames a second")
}

/// Speed through the water.
pub fn speed_m_s(text: &str) -> Read<f64> {
    between(text, 0.02, 5.0, "m/s")
}

/// Rows of a log per second.
pub fn row_rate(text: &str) -> Read<f64> {
    between(text, 2.0, 100_000.0, "rows a second")
}

/// A moment of a recording.
pub fn seconds(text: &str) -> Read<f64> {
    between(text, 0.0, 1e6, "seconds")
}

/// Cranks of a reel.
pub fn cranks(text: &str) -> Read<f64> {
    between(text, 0.05, 10.0, "cranks a second")
}

/// Line that one crank takes in.
pub fn line_m(text: &str) -> Read<f64> {
    between(text, 0.05, 3.0, "m per crank")
}

/// A tolerance in per cent.
pub fn percent(text: &str) -> Read<f64> {
    between(text, 0.1, 100.0, "per cent")
}

/// Which water.
pub fn water(text: &str) -> Read<Water> {
    Water::of_word(text).ok_or_else(|| "no such water; give fresh or salt".into())
}

/// Temperature of water.
pub fn water_c(text: &str) -> Read<f64> {
    between(text, COLDEST_C, WARMEST_C, "degrees Celsius")
}

/// Mass of a lure.
pub fn mass_g(text: &str) -> Read<f64> {
    between(text, 0.1, 1000.0, "g")
}

/// Angle between lip and body.
pub fn lip_angle_deg(text: &str) -> Read<f64> {
    between(text, 0.0, 180.0, "degrees")
}

/// A size of a lip.
pub fn lip_mm(text: &str) -> Read<f64> {
    between(text, 0.5, 200.0, "mm")
}

/// How far the eye of a tie was moved.
pub fn bend_mm(text: &str) -> Read<f64> {
    between(text, 0.01, 20.0, "mm")
}

/// A drift aimed at.
pub fn aim_deg(text: &str) -> Read<f64> {
    between(text, -45.0, 45.0, "degrees, + to its own right")
}

/// How far off an aim is good enough.
pub fn within_deg(text: &str) -> Read<f64> {
    between(text, 0.1, 45.0, "degrees")
}

/// A rework other than a bend of the tie.
pub fn rework(text: &str) -> Read<ChangeKind> {
    ChangeKind::of_word(text)
        .filter(|kind| *kind != ChangeKind::Tie)
        .ok_or_else(|| {
            "no such rework; give lip, ballast, hooks, repaint or other (bends: `truerun bend`)"
                .into()
        })
}

/// A wobble rate that is expected.
pub fn wobble_hz(text: &str) -> Read<f64> {
    between(text, 0.2, 40.0, "wobbles a second")
}

/// A wobble width that is expected.
pub fn wobble_deg(text: &str) -> Read<f64> {
    between(text, 0.5, 80.0, "degrees to each side")
}

/// How well a rate is to be known.
pub fn within_hz(text: &str) -> Read<f64> {
    between(text, 0.001, 10.0, "wobbles a second")
}

/// `1.2`, `1.2m`, `120cm` or `4ft`, as m.
pub fn distance_m(text: &str) -> Read<f64> {
    let form = "give 0.05 to 50 m, as 1.2, 1.2m or 4ft";
    let m = read::length_mm(text, 1000.0).map_err(|e| format!("{e}; {form}"))? / 1000.0;
    if (0.05..=50.0).contains(&m) {
        return Ok(m);
    }
    Err(format!("{m} m cannot be meant; {form}"))
}

/// `1920x1080`: long and short side of a picture, px.
pub fn picture_size(text: &str) -> Read<[u32; 2]> {
    let form = "give width x height in pixels, as 1920x1080";
    let side = |side: &str| side.trim().parse::<u32>().map_err(|_| form.to_string());
    let (a, b) = text.split_once(['x', 'X', '×']).ok_or(form)?;
    let (a, b) = (side(a)?, side(b)?);
    if !(120..=16_000).contains(&a.min(b)) || a.max(b) > 16_000 {
        return Err(format!("no phone films {a} × {b}; {form}"));
    }
    Ok([a.max(b), a.min(b)])
}

/// `4,8`: two dart rates, per minute.
pub fn two_rates(text: &str) -> Read<[f64; 2]> {
    let form = "give two different dart rates a minute, as 4,8";
    let (a, b) = text.split_once(',').ok_or(form)?;
    let rate =
        |text| between(text, 0.0, 120.0, "darts a minute").map_err(|e| format!("{e}; {form}"));
    let (a, b) = (rate(a)?, rate(b)?);
    match a == b {
        true => Err(form.into()),
        false => Ok([a, b]),
    }
}

/// `rate_hz=0.3`: a difference of a measure that does not matter.
pub fn tolerance(text: &str) -> Read<(Measure, f64)> {
    let keys = || Measure::ALL.map(Measure::key).join(", ");
    let (key, value) = text.split_once('=').ok_or("give it as rate_hz=0.3")?;
    let measure = Measure::of_key(key.trim()).ok_or_else(|| format!("measures are {}", keys()))?;
    Ok((measure, between(value, 1e-6, 1e6, measure.unit())?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_in_any_unit() {
        assert_eq!(length_mm("58"), Ok(58.0));
        assert!((length_mm("2.3in").unwrap() - 58.42).abs() < 1e-9);
        for wrong in [
            "0", "-58", "NaN", "inf", "5000", "5", "5m", "58km", "", "mm",
        ] {
            let told = length_mm(wrong).unwrap_err();
            assert!(told.contains("10 to 500 mm, as 58"), "{wrong}: {told}");
        }
    }

    #[test]
    fn boxes() {
        let found = start_box("310,150,60,40@1.5").unwrap();
        assert_eq!((found.x, found.h, found.t_s), (310.0, 40.0, 1.5));
        assert_eq!(start_box("1,2,3,4").unwrap().t_s, 0.0);
        for wrong in [
            "",
            "1,2,3",
            "1,2,3,4,5",
            "1,2,0,4",
            "1,2,3,nan",
            "1,2,3,4@",
            "1,2,3,4@-1",
            "a,b,c,d",
        ] {
            assert!(start_box(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn directions_wrap() {
        assert_eq!(direction_deg("-90"), Ok(270.0));
        assert_eq!(direction_deg("360"), Ok(0.0));
        assert!(direction_deg("400").is_err());
    }
}
