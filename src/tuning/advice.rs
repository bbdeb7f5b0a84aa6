//! The first bend of the line tie, from the drift.
//!
//! Common practice (several published how-tos agree, none gives millimetres): bend the tie to the
//! side opposite to the run, in tiny steps, with a retest after each. The sign follows practice and
//! not the lever alone: a tie off to one side yaws the nose toward the line, but the lip's dive force
//! then banks the lure, and for a diving lip the banking wins. The size of the step is our own
//! cautious start, for want of a published one.

use super::{Call, Judged};
use crate::Status;
use crate::camera::Side;
use crate::motion::Swim;

/// What to check before any bend: each of these makes a lure run off, and a bend would only hide it.
pub const CHECKS_BEFORE: [&str; 6] = [
    "lip plumb to the body, unbroken and tight",
    "hooks and rings hang free, none caught or bent",
    "hook hangers straight, in line and free of paint",
    "line knot or split ring in the middle of the tie, line not twisted",
    "tie tight in the body, wire not cracked",
    "no weed on lip, hooks or line",
];

/// What keeps fingers and eyes whole.
pub const CAUTIONS: [&str; 4] = [
    "Cover the hooks, or hang weights of equal mass in their place, before you bend or pull.",
    "Wear glasses when you bend wire and when you pull hard; rod low and aside, nobody in line.",
    "Wire weakens with every bend: count the bends of each tie, and discard a cracked one.",
    "Slippery docks, cold water: life jacket on, never alone.",
];

/// What to do about the drift.
#[derive(Debug, Clone, PartialEq)]
pub enum Advice {
    /// Bend the tie a little.
    Bend(Bend),
    /// The drift is as wanted: leave the tie alone.
    Leave {
        /// Why.
        why: String,
    },
    /// Not sure: more clip before any bend.
    TestAgain {
        /// Why.
        why: String,
    },
    /// No advice can be given.
    NoAdvice {
        /// Why.
        why: String,
    },
}

/// One small bend of the line tie.
#[derive(Debug, Clone, PartialEq)]
pub struct Bend {
    /// To which side, in the lure's own frame.
    pub toward: Side,
    /// How far its drift lies from the middle of the wanted range, degrees, + to own right.
    pub off_deg: f64,
    /// How far to move the eye of the tie, mm.
    pub step_mm: f64,
    /// Something seen in this run that matters before the bend.
    pub first: Option<String>,
}

impl Bend {
    /// What to do at the bench, sides as seen with the lure in hand.
    pub fn what(&self) -> String {
        format!(
            "Bend the line tie toward the lure's own {own}: your {own} with its back up and its nose \
             pointing away from you, your {facing} with its nose pointing at you.",
            own = self.toward.word(),
            facing = self.toward.to_angler().word(),
        )
    }

    /// How far, and what that rests on.
    pub fn how_far(&self) -> String {
        format!(
            "Move its eye about {:.1} mm, no more: our own cautious first step, for no published \
             figure exists.",
            self.step_mm
        )
    }

    /// What to do after the bend.
    pub fn retest(&self) -> String {
        "Then test again as fast as before, and at a fast pull, both ways along the water.".into()
    }

    /// When to stop bending.
    pub fn stop(&self) -> String {
        "If two bends do not help, or make it worse, stop: look at lip, hooks, ballast and hangers \
         again. A drift that changes side with speed, or a body that lists at rest, is not the tie."
            .into()
    }
}

/// First step at the eye of the tie, mm: half a hundredth of the body length, held between 0.2 and
/// 0.5 mm and shown to a tenth. Our own choice: small against any wire in use, so that a wrong step
/// is soon undone. 0.3 mm where the length is not known.
pub fn first_step_mm(length_mm: Option<f64>) -> f64 {
    let step = length_mm.map_or(0.3, |length| (length / 200.0).clamp(0.2, 0.5));
    (step * 10.0).round() / 10.0
}

/// What to do about the drift, judged against its range (`None` where the target does not speak of it).
pub(super) fn advise(drift: Option<&Judged>, swim: &Swim, length_mm: Option<f64>) -> Advice {
    let Some(drift) = drift else {
        return Advice::NoAdvice {
            why: "The target says nothing of drift; add drift_deg = { aim = 0, within = 2 } for a \
                  straight run."
                .into(),
        };
    };
    let Some(deg) = drift
        .found
        .value
        .filter(|_| drift.found.status == Status::Measured)
    else {
        let why = drift.found.why.as_deref().unwrap_or("it was not measured");
        return Advice::NoAdvice {
            why: format!("The drift is not known: {why}."),
        };
    };
    match drift.call {
        Call::Inside => Advice::Leave {
            why: "Its drift is as wanted: leave the tie alone.".into(),
        },
        Call::NotSure => Advice::TestAgain {
            why: format!(
                "Do not bend on this. The drift is not sure: {}.",
                drift
                    .why
                    .as_deref()
                    .unwrap_or("it was not measured well enough")
            ),
        },
        Call::Outside => bend(deg - drift.wanted.middle(), swim, length_mm),
    }
}

fn bend(off_deg: f64, swim: &Swim, length_mm: Option<f64>) -> Advice {
    match Side::of(off_deg) {
        Some(run) => Advice::Bend(Bend {
            toward: run.opposite(),
            off_deg,
            step_mm: first_step_mm(length_mm),
            first: blown_out(swim),
        }),
        None => Advice::TestAgain {
            why: "Do not bend on this. The drift has no side.".into(),
        },
    }
}

fn blown_out(swim: &Swim) -> Option<String> {
    (swim.blow_out.status == Status::Measured).then(|| {
        "It blew out in this run: make the checks with care, and retest at a slower pull first."
            .into()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bend_to_own_left_is_said_in_both_frames() {
        let bend = Bend {
            toward: Side::Left,
            off_deg: 3.0,
            step_mm: 0.3,
            first: None,
        };
        assert_eq!(
            bend.what(),
            "Bend the line tie toward the lure's own left: your left with its back up and its nose \
             pointing away from you, your right with its nose pointing at you."
        );
    }

    #[test]
    fn the_first_step_is_small_for_any_lure() {
        assert_eq!(first_step_mm(Some(58.0)), 0.3);
        assert_eq!(first_step_mm(Some(10.0)), 0.2);
        assert_eq!(first_step_mm(Some(500.0)), 0.5);
        assert_eq!(first_step_mm(None), 0.3);
    }
}
