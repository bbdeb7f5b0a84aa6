//! The swim test end to end, on clips drawn on the spot.
#![cfg(feature = "video")]

mod box_on_nothing;
mod found_anew;
mod late_box;
mod mirror;
