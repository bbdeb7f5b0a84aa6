//! The renderer: what is drawn and written is what its truth says.

mod clip;
mod signs;
mod support;
mod truth;
