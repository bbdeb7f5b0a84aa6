//! Rod-tip thump: what the maker feels, from an accelerometer's log or a sound.
//!
//! The rate is found by [`super::rate`], the same code as for a clip. Around it:
//! `levels` tells pull from rest and marks gusts (kept by `stage`) → `lead` chooses direction or channel → `follow`
//! finds the rate piece by piece → `strength` measures rate and harmonics block by block →
//! `octaves` (over `spectra` and `welch`) and `weighting` put it into the terms of the standards.

mod analyse;
mod follow;
mod lead;
mod levels;
pub mod octaves;
mod product;
mod spectra;
mod stage;
mod strength;
mod together;
pub mod weighting;
pub mod welch;

pub use analyse::{ThumpOptions, analyse};
pub use product::{BandLevel, Gust, Harmonic, Lead, Part, Thump, ThumpTrace};
pub use together::{ClipWobble, Together, together};
