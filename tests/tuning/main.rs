//! Bends and comparisons: against simulated makers and other packages.

mod bend_makers;
mod compare_reference;
