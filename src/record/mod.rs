//! A maker's memory: lures, their builds and casts, every test with its result, every bend and rework.
//!
//! One SQLite file (see [`Record`]). A *lure* is a design; a *build* is one individual of it, carved or
//! cast; *tests* and *changes* belong to a build and share one rising series of numbers, so that their
//! order is known even within a day. Nothing is ever deleted: what is done with is retired, and what is
//! edited keeps its old value in the `edit` table.

mod builds;
mod changes;
mod check;
mod drift;
mod dump;
mod edits;
mod fault;
mod figures;
mod location;
mod lures;
mod migrate;
mod model;
mod names;
mod open;
mod photos;
mod runs;
mod schema;
mod when;

pub use builds::{BuildEdit, NewBuild};
pub use changes::NewChange;
pub use drift::DriftHistory;
pub use figures::figures_of;
pub use location::default_record_path;
pub use lures::{LureEdit, LureLine};
pub use model::{
    Build, BuildMake, Change, ChangeKind, Entry, Lure, Origin, Photo, Run, Test, TestKind, Water,
};
pub use open::Record;
pub use runs::NewTest;
