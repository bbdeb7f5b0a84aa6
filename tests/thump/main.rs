//! The thump: readers, figures against outside values, simulated truth, real logs, damage, the command.

mod accuracy;
mod command;
mod damage;
mod logs;
mod made;
mod outside;
mod sounds;
#[path = "../support/mod.rs"]
mod support;
