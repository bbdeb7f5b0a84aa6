//! Simulated makers: does advice that learns reach a straight run in fewer tests than always the same
//! small step? And does the bank model find a blow-out margin that is known?
//!
//! The lures are our own assumption, for want of published figures: the answer to a bend is log-normal
//! about 6 degrees per mm (a factor of 2 each way holds two thirds of them), the first drift normal
//! with 5 degrees, a bend slips by a fifth of its size, the wire springs back 0.05 mm when the direction
//! changes (backlash), and each test has noise of 0.4 degrees between runs and 0.3 within.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use truerun::tuning::{DriftAtSpeed, DriftEvent, NextBend, blow_out_margin, first_step_mm, learn};

const LURES: usize = 1000;
const GOOD_DEG: f64 = 1.0;
const BACKLASH_MM: f64 = 0.05;
const MOST_TESTS: usize = 40;
const LENGTH: Option<f64> = Some(58.0);

struct Lure {
    drift: f64,
    answer: f64,
    last: f64,
}

impl Lure {
    fn random(chance: &mut ChaCha8Rng) -> Lure {
        let octaves = normal(chance, 1.0);
        Lure {
            drift: loop {
                let drift = normal(chance, 5.0);
                if drift.abs() > 2.0 {
                    break drift;
                }
            },
            answer: 6.0 * 2f64.powf(octaves),
            last: 0.0,
        }
    }

    fn bend(&mut self, mm: f64, chance: &mut ChaCha8Rng) {
        let back = if self.last * mm < 0.0 {
            BACKLASH_MM
        } else {
            0.0
        };
        let moved = mm.signum() * (mm.abs() - back).max(0.0) * (1.0 + normal(chance, 0.2));
        self.drift += self.answer * moved;
        self.last = mm;
    }

    fn test(&self, chance: &mut ChaCha8Rng) -> DriftEvent {
        DriftEvent::Tested {
            deg: self.drift + normal(chance, 0.4) + normal(chance, 0.3),
            half: 1.96 * 0.3,
        }
    }
}

fn normal(chance: &mut ChaCha8Rng, sd: f64) -> f64 {
    Normal::new(0.0, sd).unwrap().sample(chance)
}

/// What a maker does after the tests so far: bend, test again, or stop (`None`).
type Rule = fn(&[DriftEvent]) -> Option<f64>;

/// The plain rule: the same small step against the run until a test shows it within the tolerance.
fn same_step(events: &[DriftEvent]) -> Option<f64> {
    match events.last() {
        Some(DriftEvent::Tested { deg, .. }) if deg.abs() <= GOOD_DEG => None,
        Some(DriftEvent::Tested { deg, .. }) => Some(-deg.signum() * first_step_mm(LENGTH)),
        _ => Some(0.0),
    }
}

/// The learning rule, stopping like the plain one at the first test within the tolerance, so that the
/// two are compared on the bends alone.
fn learned(events: &[DriftEvent]) -> Option<f64> {
    if let Some(DriftEvent::Tested { deg, .. }) = events.last() {
        if deg.abs() <= GOOD_DEG {
            return None;
        }
    }
    match learn(events, 0.0, GOOD_DEG, LENGTH).next {
        NextBend::Bend { mm, .. } => Some(mm),
        NextBend::Leave | NextBend::Stop => None,
        NextBend::TestAgain | NextBend::TestFirst => Some(0.0),
    }
}

/// The learning rule as the program gives it: it also asks for a second test where one is not enough.
fn as_advised(events: &[DriftEvent]) -> Option<f64> {
    match learn(events, 0.0, GOOD_DEG, LENGTH).next {
        NextBend::Bend { mm, .. } => Some(mm),
        NextBend::Leave | NextBend::Stop => None,
        NextBend::TestAgain | NextBend::TestFirst => Some(0.0),
    }
}

#[derive(Debug)]
struct Outcome {
    lures: usize,
    straight: f64,
    median: usize,
    p90: usize,
    mean: f64,
    bends: f64,
    worst_deg: f64,
}

fn makers(rule: Rule, most_answer: Option<[f64; 2]>) -> Outcome {
    let mut tests = Vec::new();
    let (mut straight, mut bends, mut worst, mut lures) = (0, 0, 0f64, 0);
    for seed in 0..LURES as u64 {
        let mut chance = ChaCha8Rng::seed_from_u64(seed);
        let mut lure = Lure::random(&mut chance);
        if most_answer.is_some_and(|[lo, hi]| !(lo..hi).contains(&lure.answer)) {
            continue;
        }
        lures += 1;
        let first = lure.drift.abs();
        let mut events = vec![lure.test(&mut chance)];
        let mut count = 1;
        while count < MOST_TESTS {
            let Some(mm) = rule(&events) else { break };
            if mm != 0.0 {
                lure.bend(mm, &mut chance);
                events.push(DriftEvent::Bent(mm));
                bends += 1;
            }
            worst = worst.max(lure.drift.abs() - first);
            events.push(lure.test(&mut chance));
            count += 1;
        }
        straight += usize::from(lure.drift.abs() <= GOOD_DEG);
        tests.push(count);
    }
    tests.sort_unstable();
    Outcome {
        lures,
        straight: straight as f64 / lures as f64,
        median: tests[lures / 2],
        p90: tests[lures * 9 / 10],
        mean: tests.iter().sum::<usize>() as f64 / lures as f64,
        bends: bends as f64 / lures as f64,
        worst_deg: worst,
    }
}

/// The table of the README.
#[test]
fn learning_takes_fewer_tests_than_the_same_small_step() {
    for (name, band) in [
        ("all", None),
        ("weak (< 4)", Some([0.0, 4.0])),
        ("middle (4-9)", Some([4.0, 9.0])),
        ("strong (> 9)", Some([9.0, 1e9])),
    ] {
        for (rule_name, rule) in [
            ("same step", same_step as Rule),
            ("learned", learned),
            ("as advised", as_advised),
        ] {
            let o = makers(rule, band);
            println!(
                "| {name} | {rule_name} | {} | {:.0} % | {:.1} | {} | {} | {:.1} | {:.1} |",
                o.lures,
                100.0 * o.straight,
                o.mean,
                o.median,
                o.p90,
                o.bends,
                o.worst_deg
            );
        }
    }
    let (plain, learned) = (makers(same_step, None), makers(learned, None));
    assert!(learned.mean < plain.mean, "{learned:?} {plain:?}");
    assert!(learned.p90 < plain.p90, "{learned:?} {plain:?}");
    assert!(
        learned.straight > plain.straight - 0.02,
        "{learned:?} {plain:?}"
    );
    let advised = makers(as_advised, None);
    assert!(advised.straight > 0.9, "{advised:?}");
}

/// The expected drift after a bend, with its interval: how often does the truth lie in it?
#[test]
fn the_expected_drift_is_honest() {
    let (mut inside, mut all) = (0, 0);
    for seed in 0..LURES as u64 {
        let mut chance = ChaCha8Rng::seed_from_u64(seed);
        let mut lure = Lure::random(&mut chance);
        let mut events = vec![lure.test(&mut chance)];
        for _ in 0..6 {
            if let NextBend::Bend { mm, expected } = learn(&events, 0.0, GOOD_DEG, LENGTH).next {
                lure.bend(mm, &mut chance);
                events.push(DriftEvent::Bent(mm));
                let [lo, hi] = expected.ci95.unwrap();
                inside += usize::from((lo..=hi).contains(&lure.drift));
                all += 1;
                assert!(mm.abs() <= 0.9 + 1e-9, "{mm}");
            }
            events.push(lure.test(&mut chance));
        }
    }
    let share = inside as f64 / all as f64;
    println!("expected drift: {inside} of {all} inside ({share:.3})");
    assert!(share > 0.93, "{share}");
}

/// Lures with a known k, pulled at two speeds, twice each.
#[test]
fn the_margin_before_blow_out_is_found_or_left_open() {
    let mut chance = ChaCha8Rng::seed_from_u64(7);
    let (mut inside, mut measured, mut contradicted) = (0, 0, 0);
    for _ in 0..LURES {
        let k = chance.random_range(-0.3f64..0.3);
        let runs: Vec<DriftAtSpeed> = [0.6, 0.6, 1.0, 1.0]
            .map(|m_s: f64| DriftAtSpeed {
                m_s,
                deg: (k * m_s * m_s).asin().to_degrees() + normal(&mut chance, 0.5),
                half: 1.96 * 0.5,
            })
            .into();
        let found = blow_out_margin(&runs);
        match found.limit_m_s.ci95 {
            Some([lo, hi]) => {
                measured += 1;
                inside += usize::from((lo..=hi).contains(&(1.0 / k.abs().sqrt())));
            }
            None => {
                contradicted += usize::from(found.k.value.is_none());
            }
        }
    }
    let share = inside as f64 / measured as f64;
    println!(
        "margin: {measured} of {LURES} told, {share:.3} of them right, {contradicted} given up"
    );
    assert!(share > 0.93, "{share}");
    assert!(measured > LURES * 8 / 10, "{measured}");
    assert!(contradicted < 25, "{contradicted}");
}
