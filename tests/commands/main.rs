//! The commands from outside: what they print and write, and what they say of what they cannot use.

#[cfg(feature = "video")]
mod clips;
#[cfg(feature = "video")]
mod demo;
mod plan;
#[cfg(unix)]
mod setup;
mod swim;
