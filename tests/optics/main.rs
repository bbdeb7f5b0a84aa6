//! Scale, depth and the water's surface against set-ups of known truth, traced by code of their own.

mod depth;
mod scale;
mod through_surface;
