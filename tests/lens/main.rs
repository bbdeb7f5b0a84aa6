//! Lens files: against OpenCV's published calibration, against boards drawn with known lenses, and bad input.
#![cfg(feature = "video")]

mod clip;
mod command;
mod drawn;
mod published;
mod taken_out;
