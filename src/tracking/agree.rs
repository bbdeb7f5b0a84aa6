//! The motion of the background that most of its spots agree on, though light, ripples and glare carry others along.

use super::track::Affine;

/// A spot agrees when it lies within this of the motion, reduced px: ripples bend the picture by about as much.
pub(super) const NEAR_PX: f64 = 3.0;
/// How far a camera turns (rad) and how much it comes nearer (a part) between two pictures that are compared, one
/// standard deviation each, where the spots leave it open.
const TURN_SD: f64 = 0.025;
const ZOOM_SD: f64 = 0.02;
/// How far a spot that agrees lies off, one standard deviation, reduced px; and how many of them stray together, for
/// light moves neighbours alike: so many count as one.
const SPOT_SD_PX: f64 = 1.2;
const STRAY_TOGETHER: f64 = 8.0;
/// Rounds of gathering those that agree about their own mean.
const ROUNDS: usize = 4;

/// The spots that went from `from` to `to` as `guess` has it but for one shift that they share: which they are.
/// Empty for no spots.
pub(super) fn shifted_alike(from: &[[f64; 2]], to: &[[f64; 2]], guess: &Affine) -> Vec<usize> {
    let off: Vec<[f64; 2]> = from
        .iter()
        .zip(to)
        .map(|(a, b)| less(*b, guess.apply(*a)))
        .collect();
    let near = |at: [f64; 2]| {
        let close = |i: &usize| {
            let [x, y] = less(off[*i], at);
            x.hypot(y) < NEAR_PX
        };
        (0..off.len()).filter(close).collect::<Vec<usize>>()
    };
    let groups = off.iter().map(|&at| near(at));
    let mut group = groups.max_by_key(Vec::len).unwrap_or_default();
    for _ in 0..ROUNDS {
        let next = near(mean(group.iter().map(|&i| off[i])));
        if next.len() <= group.len() {
            break;
        }
        group = next;
    }
    group
}

/// The similarity that takes `from` to `to` over the spots `which`, with no more turn and zoom than they show: few spots, or
/// spots close together, leave it a mere shift. `None` for no spots.
pub(super) fn motion(from: &[[f64; 2]], to: &[[f64; 2]], which: &[usize]) -> Option<Affine> {
    if which.is_empty() {
        return None;
    }
    let (a, b) = (
        mean(which.iter().map(|&i| from[i])),
        mean(which.iter().map(|&i| to[i])),
    );
    let (mut along, mut across, mut square) = (0.0, 0.0, 0.0);
    for &i in which {
        let ([ax, ay], [bx, by]) = (less(from[i], a), less(to[i], b));
        along += ax * bx + ay * by;
        across += ax * by - ay * bx;
        square += ax * ax + ay * ay;
    }
    let doubt = SPOT_SD_PX.powi(2) * STRAY_TOGETHER;
    let turn = across / (square + doubt / TURN_SD.powi(2));
    let zoom = 1.0 + (along - square) / (square + doubt / ZOOM_SD.powi(2));
    Some(Affine([
        zoom,
        -turn,
        b[0] - zoom * a[0] + turn * a[1],
        turn,
        zoom,
        b[1] - turn * a[0] - zoom * a[1],
    ]))
}

fn less(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn mean(points: impl ExactSizeIterator<Item = [f64; 2]>) -> [f64; 2] {
    let count = points.len().max(1) as f64;
    let sum = points.fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    [sum[0] / count, sum[1] / count]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Spots spread over a picture of 400 × 225.
    fn spots(count: usize) -> Vec<[f64; 2]> {
        (0..count)
            .map(|i| [(i * 137 % 400) as f64, (i * 71 % 225) as f64])
            .collect()
    }

    #[test]
    fn the_shift_that_most_spots_share_is_found_among_others() {
        let from = spots(60);
        let to: Vec<[f64; 2]> = (0..60)
            .map(|i| match i % 3 {
                0 => [from[i][0] + 9.0, from[i][1] - 7.0 * (i % 5) as f64],
                _ => [from[i][0] + 2.0, from[i][1] + 1.0],
            })
            .collect();
        let alike = shifted_alike(&from, &to, &Affine::IDENTITY);
        assert!(alike.len() >= 40 && alike.iter().filter(|i| *i % 3 != 0).count() == 40);
    }

    #[test]
    fn a_turn_shows_in_many_spots_and_not_in_a_few_close_together() {
        let by = 0.02_f64;
        let turned = |p: &[f64; 2]| {
            let (sin, cos) = by.sin_cos();
            [cos * p[0] - sin * p[1], sin * p[0] + cos * p[1]]
        };
        let from = spots(60);
        let to: Vec<[f64; 2]> = from.iter().map(turned).collect();
        let all: Vec<usize> = (0..60).collect();
        let many = motion(&from, &to, &all).expect("spots");
        assert_abs_diff_eq!(many.turn_deg(), by.to_degrees(), epsilon = 0.06);
        let close: Vec<[f64; 2]> = (0..5).map(|i| [100.0 + i as f64, 50.0]).collect();
        let to: Vec<[f64; 2]> = close.iter().map(turned).collect();
        let few = motion(&close, &to, &all[..5]).expect("spots");
        assert!(few.turn_deg().abs() < 0.01);
    }
}
