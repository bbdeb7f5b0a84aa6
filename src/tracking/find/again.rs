//! Looks for the lure anew, as at the beginning, where it was lost for long: its follower may have learned too little of
//! it, or something else.

use super::super::start_box::StartBox;
use super::look::Look;
use super::rounds::Rounds;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// The box of what is found is, across its corners, within these parts of the length of what was followed, or of the box
/// round it.
const OF_ITS_LENGTH: [f64; 2] = [0.6, 2.2];
/// After so long, s, it is given up: it has left the picture.
const GIVEN_UP_S: f64 = 10.0;

/// A search that begins where the lure is long gone.
pub struct Again {
    view: View,
    size: [f64; 2],
    search: Option<Search>,
}

struct Search {
    since_s: f64,
    look: Look,
    rounds: Rounds,
}

impl Again {
    /// For a picture of this size, px.
    pub fn new(view: View, size: [f64; 2]) -> Again {
        Again {
            view,
            size,
            search: None,
        }
    }

    /// The lure is followed: it need not be looked for.
    pub fn rest(&mut self) {
        self.search = None;
    }

    /// A box round the lure in this frame, once it is found. `length_px`: of what was followed.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on.
    pub fn look(&mut self, frame: &Frame, length_px: f64) -> Result<Option<StartBox>> {
        let (view, size) = (self.view, self.size);
        let search = self.search.get_or_insert_with(|| Search {
            since_s: frame.t_s,
            look: Look::new(size, view),
            rounds: Rounds::from(frame.t_s, view),
        });
        let Search {
            since_s,
            look,
            rounds,
        } = search;
        if frame.t_s - *since_s > GIVEN_UP_S || !look.see(frame)? {
            return Ok(None);
        }
        let Some(found) = rounds.go_on(look)? else {
            return Ok(None);
        };
        if is_of_size(&found.now, length_px) {
            self.search = None;
            return Ok(Some(found.now));
        }
        rounds.drop_all(frame.t_s);
        Ok(None)
    }
}

/// Whether what was found is about as large as what was followed, px long.
fn is_of_size(found: &StartBox, length_px: f64) -> bool {
    let [least, most] = OF_ITS_LENGTH;
    (least..most).contains(&(found.diagonal() / length_px))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_found_must_be_about_as_large_as_what_was_followed() {
        let sized = |w: f64, h: f64| StartBox {
            x: 10.0,
            y: 10.0,
            w,
            h,
            t_s: 0.0,
        };
        assert!(is_of_size(&sized(70.0, 30.0), 60.0));
        assert!(is_of_size(&sized(45.0, 45.0), 60.0));
        assert!(!is_of_size(&sized(20.0, 15.0), 60.0));
        assert!(!is_of_size(&sized(150.0, 60.0), 60.0));
    }
}
