//! How far a floating body is raised when the part of it above water changes.

use crate::Measured;
use crate::motion::float::Float;

/// How far a body is raised when the part above water changes, by the outline that was seen; the angle is
/// taken to stay.
pub(super) fn higher(float: &Float, from: &Measured, to: &Measured) -> Measured {
    let (Some(a), Some(b)) = (from.value, to.value) else {
        return Measured::unmeasurable(
            from.why
                .clone()
                .unwrap_or_else(|| "the volume is not known".into()),
        );
    };
    if b <= 0.0 || to.ci95.is_some_and(|[least, _]| least <= 0.0) {
        return Measured::unmeasurable("it sinks there, or may");
    }
    let Some(raise) = (!float.raised.is_empty())
        .then_some(())
        .and_then(|()| Some(raise_for(&float.raised, b)? - raise_for(&float.raised, a)?))
    else {
        return Measured::unmeasurable(
            "in mm only with a picture from the side, --length, and the lure afloat",
        );
    };
    // the outline's slope is known to about a tenth; a constant shape of the sections adds as much
    let half = 0.25 * raise.abs() + 0.02;
    Measured::within(raise, half)
}

fn raise_for(raised: &[[f64; 2]], part: f64) -> Option<f64> {
    raised.windows(2).find_map(|w| {
        let ([x0, p0], [x1, p1]) = (w[0], w[1]);
        let inside = (p0 - part) * (p1 - part) <= 0.0 && p0 != p1;
        inside.then(|| x0 + (part - p0) / (p1 - p0) * (x1 - x0))
    })
}
