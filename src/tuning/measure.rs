//! What a target may speak about: one row per measure, with its key, words and plausible band.

/// A measure that a target may set a range for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// Wobble rate, Hz.
    Rate,
    /// Wobble width, degrees zero-to-peak yaw.
    Width,
    /// Tail sweep, mm peak-to-peak.
    TailSweep,
    /// Roll, degrees zero-to-peak.
    Roll,
    /// Drift, degrees, + to the lure's own right.
    Drift,
    /// Darts per minute of swimming seen.
    HuntsPerMinute,
    /// Darts per metre of pull seen.
    HuntsPerMetre,
    /// Pivot as a fraction of the body length from the nose.
    Pivot,
    /// Thump at the rod tip at the rate and its harmonics, m/s² RMS; from a recording, not a clip.
    ThumpRms,
    /// Speed of the pull, m/s: the other figures hold at a speed, so this one is context.
    Speed,
}

impl Measure {
    /// All measures, in the order in which a report shows them.
    pub const ALL: [Measure; 10] = [
        Measure::Rate,
        Measure::Width,
        Measure::TailSweep,
        Measure::Roll,
        Measure::Drift,
        Measure::HuntsPerMinute,
        Measure::HuntsPerMetre,
        Measure::Pivot,
        Measure::ThumpRms,
        Measure::Speed,
    ];

    /// Key in a target file and in the JSON; it ends in the unit.
    pub fn key(self) -> &'static str {
        match self {
            Measure::Rate => "rate_hz",
            Measure::Width => "width_deg",
            Measure::TailSweep => "tail_sweep_mm",
            Measure::Roll => "roll_deg",
            Measure::Drift => "drift_deg",
            Measure::HuntsPerMinute => "hunts_per_minute",
            Measure::HuntsPerMetre => "hunts_per_metre",
            Measure::Pivot => "pivot_from_nose",
            Measure::ThumpRms => "thump_rms_m_s2",
            Measure::Speed => "speed_m_s",
        }
    }

    /// The measure of a key, if there is one.
    pub fn of_key(key: &str) -> Option<Measure> {
        Measure::ALL.into_iter().find(|m| m.key() == key)
    }

    /// Name in a report.
    pub fn name(self) -> &'static str {
        match self {
            Measure::Rate => "wobble rate",
            Measure::Width => "wobble width",
            Measure::TailSweep => "tail sweep",
            Measure::Roll => "roll",
            Measure::Drift => "drift",
            Measure::HuntsPerMinute | Measure::HuntsPerMetre => "darts",
            Measure::Pivot => "pivot",
            Measure::ThumpRms => "thump",
            Measure::Speed => "speed",
        }
    }

    /// Unit in words, as it follows a number.
    pub fn unit(self) -> &'static str {
        match self {
            Measure::Rate => "Hz",
            Measure::Width | Measure::Roll | Measure::Drift => "degrees",
            Measure::TailSweep => "mm",
            Measure::HuntsPerMinute => "per minute",
            Measure::HuntsPerMetre => "per metre",
            Measure::Pivot => "of the body length from the nose",
            Measure::ThumpRms => "m/s² RMS",
            Measure::Speed => "m/s",
        }
    }

    /// Lowest and highest value that can be meant. Wide on purpose: it is there to catch a wrong unit,
    /// not an odd lure.
    pub fn plausible(self) -> [f64; 2] {
        match self {
            Measure::Rate => [0.0, 60.0],
            Measure::Width => [0.0, 90.0],
            Measure::TailSweep => [0.0, 500.0],
            Measure::Roll => [0.0, 180.0],
            Measure::Drift => [-60.0, 60.0],
            Measure::HuntsPerMinute => [0.0, 240.0],
            Measure::HuntsPerMetre => [0.0, 50.0],
            Measure::Pivot => [0.0, 1.0],
            Measure::ThumpRms => [0.0, 200.0],
            Measure::Speed => [0.0, 10.0],
        }
    }

    /// A range that a file might hold, to show its form in a message.
    pub fn example(self) -> &'static str {
        match self {
            Measure::Rate => "[4.3, 4.9]",
            Measure::Width => "[14, 18]",
            Measure::TailSweep => "[18, 24]",
            Measure::Roll => "[5, 15]",
            Measure::Drift => "{ aim = 0, within = 2 }",
            Measure::HuntsPerMinute => "[4, 20]",
            Measure::HuntsPerMetre => "[0.1, 1]",
            Measure::Pivot => "[0.35, 0.45]",
            Measure::ThumpRms => "[0.8, 1.2]",
            Measure::Speed => "[0.5, 0.6]",
        }
    }
}
