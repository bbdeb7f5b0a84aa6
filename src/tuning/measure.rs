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
    /// Angle of the axis at rest, degrees, + nose down; from a float test, like all that follow.
    FloatAngle,
    /// List at rest, degrees, + own right side down.
    List,
    /// Water over the axis at the nose, mm; negative: the nose is out.
    WaterAtNose,
    /// Water over the axis at the tail, mm.
    WaterAtTail,
    /// Part of the side outline above water, 0–1.
    PartAbove,
    /// Height of the back over the water, mm.
    Freeboard,
    /// Time of one full swing after a push, s.
    RockingPeriod,
    /// Damping ratio of the rocking.
    RockingDamping,
    /// How fast it rises, mm/s; negative: sinks.
    Rise,
}

impl Measure {
    /// All measures, in the order in which a report shows them.
    pub const ALL: [Measure; 19] = [
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
        Measure::FloatAngle,
        Measure::List,
        Measure::WaterAtNose,
        Measure::WaterAtTail,
        Measure::PartAbove,
        Measure::Freeboard,
        Measure::RockingPeriod,
        Measure::RockingDamping,
        Measure::Rise,
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
            Measure::FloatAngle => "float_angle_deg",
            Measure::List => "list_deg",
            Measure::WaterAtNose => "water_at_nose_mm",
            Measure::WaterAtTail => "water_at_tail_mm",
            Measure::PartAbove => "part_above_water",
            Measure::Freeboard => "freeboard_mm",
            Measure::RockingPeriod => "rocking_period_s",
            Measure::RockingDamping => "rocking_damping",
            Measure::Rise => "rise_mm_s",
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
            Measure::FloatAngle => "nose angle",
            Measure::List => "list",
            Measure::WaterAtNose => "water at nose",
            Measure::WaterAtTail => "water at tail",
            Measure::PartAbove => "above water",
            Measure::Freeboard => "freeboard",
            Measure::RockingPeriod => "rocking",
            Measure::RockingDamping => "damping",
            Measure::Rise => "rise",
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
            Measure::FloatAngle => "degrees, + nose down",
            Measure::List => "degrees",
            Measure::WaterAtNose => "mm over the axis",
            Measure::WaterAtTail => "mm over the axis",
            Measure::PartAbove => "of the side",
            Measure::Freeboard => "mm",
            Measure::RockingPeriod => "s",
            Measure::RockingDamping => "damping ratio",
            Measure::Rise => "mm/s, − sinks",
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
            Measure::FloatAngle => [-90.0, 90.0],
            Measure::List => [-90.0, 90.0],
            Measure::WaterAtNose => [-200.0, 200.0],
            Measure::WaterAtTail => [-200.0, 200.0],
            Measure::PartAbove => [0.0, 1.0],
            Measure::Freeboard => [-200.0, 200.0],
            Measure::RockingPeriod => [0.0, 20.0],
            Measure::RockingDamping => [0.0, 1.0],
            Measure::Rise => [-2000.0, 2000.0],
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
            Measure::FloatAngle => "{ aim = -2, within = 1 }",
            Measure::List => "{ aim = 0, within = 1 }",
            Measure::WaterAtNose => "[-3, -1]",
            Measure::WaterAtTail => "[1, 3]",
            Measure::PartAbove => "[0.2, 0.3]",
            Measure::Freeboard => "[3, 5]",
            Measure::RockingPeriod => "[0.4, 0.7]",
            Measure::RockingDamping => "[0.04, 0.12]",
            Measure::Rise => "[-60, -30]",
        }
    }

    /// Whether it belongs to the float test rather than to a pull.
    pub fn is_of_float_test(self) -> bool {
        self >= Measure::FloatAngle
    }
}
