//! The tuning record: nothing is lost, nothing is mixed up, nothing gets out unescaped.

mod casts;
mod commands;
mod crash;
mod exchange;
mod faults;
mod history;
mod large;
mod many;
mod migration;
mod model;
mod results;
