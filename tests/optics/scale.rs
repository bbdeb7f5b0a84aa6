//! The scale from a ruler or a board against made-up set-ups of known truth: a pinhole camera written here alone.
//! 500 each; the interval must hold the truth at least 93 % of the time.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use truerun::camera::{Board, BoardSeen, Marks, Ruler, ScaleSource, Setup, View, Yardstick};
use truerun::motion;
use truerun::tracking::{Affine, Doubts, State, Track, TrackFrame};

const FOCAL: f64 = 1100.0;
const SETUPS: usize = 500;
const BODY_MM: f64 = 58.0;

fn normal(rng: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// A lure that swims up the picture `away` mm from the camera, wobbling at 4 Hz; the outline's ends are off by
/// `bias`.
fn swum(away: f64, bias: f64, ends: f64) -> Track {
    let frames = (0..150)
        .map(|i| {
            let t_s = f64::from(i) / 30.0;
            let yaw = 12.0 * (std::f64::consts::TAU * 4.0 * t_s).sin();
            TrackFrame {
                frame: i as usize,
                t_s,
                state: State::Seen,
                confidence: 1.0,
                x_px: 640.0 + 2.0 * yaw.to_radians(),
                y_px: 700.0 - 130.0 * t_s,
                axis_deg: yaw,
                length_px: bias * FOCAL * BODY_MM / away,
                width_px: 0.25 * FOCAL * BODY_MM / away,
                brightness: 0.5,
                line_deg: f64::NAN,
                to_scene: Affine::IDENTITY,
            }
        })
        .collect();
    Track {
        frames,
        picture_width_px: 1280.0,
        picture_height_px: 720.0,
        camera_moves: false,
        doubts: Doubts {
            ends,
            ..Doubts::default()
        },
    }
}

fn setup(yardstick: Yardstick, length_mm: Option<f64>, farther: Option<f64>) -> Setup {
    Setup {
        length_mm,
        pull_deg: Some(0.0),
        marks: Marks {
            yardstick: Some(yardstick),
            farther,
            ..Marks::default()
        },
        ..Setup::new(View::Above)
    }
}

fn ruler(rng: &mut ChaCha8Rng, away: f64) -> Ruler {
    let half = 0.5 * FOCAL * 200.0 / away;
    let mut click = |x: f64| [x + 0.5 * normal(rng), 300.0 + 0.5 * normal(rng)];
    Ruler {
        from: click(500.0 - half),
        to: click(500.0 + half),
        mm: 200.0,
    }
}

/// Whether the scale's interval holds the true mm per px at the lure.
fn holds(track: &Track, setup: &Setup, away: f64) -> bool {
    let (scale, _) = motion::scale(track, setup).unwrap();
    (scale.mm_per_px / (away / FOCAL) - 1.0).abs() <= scale.doubt
}

#[test]
fn a_ruler_somewhere_near_the_lure() {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let [mut near, mut told] = [0, 0];
    for _ in 0..SETUPS {
        let away = rng.random_range(800.0..2500.0);
        let apart = 1.0 + 0.05 * normal(&mut rng);
        let track = swum(away, 1.0, 0.0);
        let beside = Yardstick::Ruler(ruler(&mut rng, away * apart));
        near += usize::from(holds(&track, &setup(beside, None, None), away));
        // Far below the ruler, and the ratio told to 1.5 % (one standard deviation).
        let ratio = rng.random_range(0.7..1.6);
        let ruler = Yardstick::Ruler(ruler(&mut rng, away / ratio));
        let given = ratio * (1.0 + 0.015 * normal(&mut rng));
        told += usize::from(holds(&track, &setup(ruler, None, Some(given)), away));
    }
    eprintln!("ruler: {near} and {told} of {SETUPS} hold the truth");
    assert!(near >= 465 && told >= 465);
}

/// A board leans as it happens to lie, its corners off by 0.2 px.
#[test]
fn a_board_somewhere_near_the_lure() {
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let mut held = 0;
    for _ in 0..SETUPS {
        let away = rng.random_range(800.0..2500.0);
        let board = Board {
            columns: 8,
            rows: 6,
            square_mm: Some(25.0),
        };
        let at = away * (1.0 + 0.05 * normal(&mut rng));
        let (lean, turn) = (
            rng.random_range(-0.6..0.6f64),
            rng.random_range(0.0..6.2f64),
        );
        let corners = board
            .grid()
            .iter()
            .map(|[c, r]| {
                let (a, b) = ((c - 3.0) * 25.0, (r - 2.0) * 25.0);
                let (x, y) = (
                    a * turn.cos() - b * turn.sin(),
                    a * turn.sin() + b * turn.cos(),
                );
                let depth = at + y * lean.sin();
                [
                    500.0 + FOCAL * x / depth + 0.2 * normal(&mut rng),
                    300.0 + FOCAL * y * lean.cos() / depth + 0.2 * normal(&mut rng),
                ]
            })
            .collect();
        let seen = Yardstick::Board(BoardSeen { board, corners });
        held += usize::from(holds(&swum(away, 1.0, 0.0), &setup(seen, None, None), away));
    }
    eprintln!("board: {held} of {SETUPS} hold the truth");
    assert!(held >= 465);
}

/// Body length and ruler together know more than either, and a wrong one is told.
#[test]
fn body_length_and_ruler_together() {
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let (mut held, mut told) = (0, 0);
    for _ in 0..SETUPS {
        let away = rng.random_range(800.0..2500.0);
        let track = swum(away, 1.0 + 0.04 * normal(&mut rng), 0.08);
        let apart = 1.0 + 0.05 * normal(&mut rng);
        let ruler = Yardstick::Ruler(ruler(&mut rng, away * apart));
        let both = setup(ruler, Some(BODY_MM), None);
        let (scale, warnings) = motion::scale(&track, &both).unwrap();
        assert_eq!(scale.source, ScaleSource::Both);
        assert!(scale.doubt < 0.08 || warnings.iter().any(|w| w.code() == "scale_contradiction"));
        held += usize::from(holds(&track, &both, away));
        told += usize::from(warnings.iter().any(|w| w.code() == "scale_contradiction"));
    }
    eprintln!("both: {held} of {SETUPS} hold the truth, {told} contradict by chance");
    assert!(held >= 465 && told < 40);
    let away = 1500.0;
    let ruler = Yardstick::Ruler(ruler(&mut rng, away));
    let wrong = setup(ruler, Some(1.5 * BODY_MM), None);
    let (_, warnings) = motion::scale(&swum(away, 1.0, 0.08), &wrong).unwrap();
    assert!(warnings.iter().any(|w| w.code() == "scale_contradiction"));
}

/// The scale's doubt is in the figures: speed in m/s with a ruler is as true as the ruler.
#[test]
fn the_scale_enters_the_figures() {
    let away = 1500.0;
    let track = swum(away, 1.2, 0.2);
    let mut rng = ChaCha8Rng::seed_from_u64(4);
    let told = setup(Yardstick::Ruler(ruler(&mut rng, away)), None, None);
    let (scale, _) = motion::scale(&track, &told).unwrap();
    let with = Setup {
        scale: Some(scale),
        ..told
    };
    let truth = 130.0 * away / FOCAL / 1000.0;
    let speed = motion::analyse(&track, &with).speed;
    let [low, high] = speed.ci95.unwrap();
    assert!(
        (speed.value.unwrap() / truth - 1.0).abs() < 0.03,
        "{speed:?} {truth}"
    );
    assert!(low < truth && truth < high);
    // Ends that are known to a fifth would have made it wider than the ruler's tenth does.
    let by_length = Setup {
        length_mm: Some(BODY_MM),
        ..Setup {
            pull_deg: Some(0.0),
            ..Setup::new(View::Above)
        }
    };
    let other = motion::analyse(&track, &by_length).speed;
    let width = |ci: [f64; 2]| (ci[1] - ci[0]) / (ci[1] + ci[0]);
    assert!(width(other.ci95.unwrap()) > 1.5 * width([low, high]));
}
