//! In which unit lengths are shown.

use clap::ValueEnum;
use truerun::units::LengthUnit;

/// What `--units` takes.
#[derive(Clone, Copy, ValueEnum)]
pub enum Units {
    Mm,
    In,
}

impl Units {
    /// The library's word for it.
    pub fn length(self) -> LengthUnit {
        match self {
            Units::Mm => LengthUnit::Millimetres,
            Units::In => LengthUnit::Inches,
        }
    }
}
