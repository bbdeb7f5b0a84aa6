//! What a record holds, as plain values. Lengths mm, masses g, times `YYYY-MM-DDTHH:MM:SS`.

use std::collections::BTreeMap;

use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};

use crate::Measured;
use crate::camera::Side;

/// A small set of words, stored as text.
macro_rules! words {
    ($(#[$about:meta])* $name:ident { $($(#[$note:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum $name { $($(#[$note])* $variant),+ }

        impl $name {
            /// All of them.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The word stored and shown.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }

            /// The one of a word.
            pub fn of_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|one| one.word() == word)
            }
        }

        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
                Ok(self.word().into())
            }
        }

        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                Self::of_word(value.as_str()?).ok_or(FromSqlError::InvalidType)
            }
        }
    };
}

words! {
    /// How a build came to be.
    Origin {
        /// Carved by hand: an original.
        Carved = "carved",
        /// Cast in a mould.
        Cast = "cast",
    }
}

words! {
    /// Which test.
    TestKind {
        /// From a clip: rate, width, drift …
        Swim = "swim",
        /// From the rod tip.
        Thump = "thump",
        /// At rest.
        Float = "float",
    }
}

words! {
    /// Which water.
    Water {
        /// Lake, river, tank.
        Fresh = "fresh",
        /// Sea.
        Salt = "salt",
    }
}

words! {
    /// What was changed on a build.
    ChangeKind {
        /// The line tie was bent.
        Tie = "tie",
        /// The lip was cut, filed, turned or replaced.
        Lip = "lip",
        /// Ballast was added, taken or moved.
        Ballast = "ballast",
        /// Hooks or rings were changed.
        Hooks = "hooks",
        /// It was painted or sealed again.
        Repaint = "repaint",
        /// Anything else.
        Other = "other",
    }
}

/// A design.
#[derive(Debug, Clone, PartialEq)]
pub struct Lure {
    /// Number in the record.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Body length without lip, mm.
    pub length_mm: Option<f64>,
    /// Text of its target file (TOML).
    pub target: Option<String>,
    /// A note.
    pub note: Option<String>,
    /// When it was entered.
    pub added_at: String,
    /// When it was retired.
    pub retired_at: Option<String>,
    /// Why it was retired.
    pub retired_why: Option<String>,
}

/// How a build was made.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BuildMake {
    /// Mould it was cast in.
    pub mould: Option<String>,
    /// Mass with hooks or what stands in for them, g.
    pub mass_g: Option<f64>,
    /// Angle between lip and body, degrees.
    pub lip_angle_deg: Option<f64>,
    /// Length of the lip out of the body, mm.
    pub lip_length_mm: Option<f64>,
    /// Width of the lip, mm.
    pub lip_width_mm: Option<f64>,
    /// Ballast: what and where.
    pub ballast: Option<String>,
    /// Hooks, or the weights in their stead.
    pub hooks: Option<String>,
    /// Day it was made.
    pub made_on: Option<String>,
    /// A note.
    pub note: Option<String>,
}

/// One individual of a lure.
#[derive(Debug, Clone, PartialEq)]
pub struct Build {
    /// Number in the record.
    pub id: i64,
    /// Number of its lure.
    pub lure_id: i64,
    /// Its name, as `hazel58-03`.
    pub name: String,
    /// Carved or cast.
    pub origin: Origin,
    /// Number of the build it was copied from.
    pub parent_id: Option<i64>,
    /// How it was made.
    pub make: BuildMake,
    /// When it was entered.
    pub added_at: String,
    /// When it was retired.
    pub retired_at: Option<String>,
    /// Why it was retired.
    pub retired_why: Option<String>,
}

/// A test, without its result (which [`super::Record::result`] reads).
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Number in the record; tests and changes share one rising series.
    pub id: i64,
    /// Number of the build tested.
    pub build_id: i64,
    /// Which test.
    pub kind: TestKind,
    /// When it was done.
    pub at: String,
    /// Where.
    pub place: Option<String>,
    /// In which water.
    pub water: Option<Water>,
    /// Temperature of the water, °C.
    pub water_c: Option<f64>,
    /// How it was retrieved.
    pub retrieve: Option<String>,
    /// A note.
    pub note: Option<String>,
    /// Name of the file it was measured from.
    pub source_file: Option<String>,
    /// SHA-256 of that file.
    pub source_sha256: Option<String>,
    /// Program and version that measured it.
    pub program: String,
}

/// A test with its figures by measure: [`crate::tuning::Measure::key`] for a swim test, `part.figure`
/// of the result for the others. The figures carry no reasons; the result does.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The test.
    pub test: Test,
    /// Its figures.
    pub figures: BTreeMap<String, Measured>,
}

/// A bend or a rework.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Number in the record; tests and changes share one rising series.
    pub id: i64,
    /// Number of the build changed.
    pub build_id: i64,
    /// What was changed.
    pub kind: ChangeKind,
    /// When.
    pub at: String,
    /// A bend to this side of the lure's own frame, and how far its eye was moved, mm.
    pub sideways: Option<(Side, f64)>,
    /// A bend upward (true) or downward, and how far, mm.
    pub upright: Option<(bool, f64)>,
    /// A note.
    pub note: Option<String>,
}

impl Change {
    /// Sideways move of the tie's eye, mm, + to own right; `None` for no sideways bend.
    pub fn signed_mm(&self) -> Option<f64> {
        self.sideways.map(|(side, mm)| match side {
            Side::Right => mm,
            Side::Left => -mm,
        })
    }
}

/// A photo by its path.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// Where the picture lies.
    pub path: String,
    /// A note.
    pub note: Option<String>,
    /// When it was entered.
    pub added_at: String,
}

/// A build's life in order: what was tested and what was changed.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// A test.
    Run(Box<Run>),
    /// A bend or a rework.
    Change(Change),
}

impl Entry {
    /// When, and the number that settles the order within a second.
    pub fn moment(&self) -> (&str, i64) {
        match self {
            Entry::Run(run) => (&run.test.at, run.test.id),
            Entry::Change(change) => (&change.at, change.id),
        }
    }
}
