//! What keeps people whole at the water.

/// Cautions for a shoot, most important first.
pub const SAFETY: [&str; 8] = [
    "Hooks covered, or off and weights of the same mass hung in their place.",
    "Nobody in the water near hooks; nobody in line with the pull.",
    "Glasses on: a lure under load flies back at the eyes.",
    "Rod low and aside while the line is loaded; let it go slack before you reach for the lure.",
    "Life jacket on, on dock, boat and bank.",
    "Docks and stones are slippery: shoes that hold, nothing to trip over, no walking backwards.",
    "Cold water kills in minutes: know the way out before you lean over it.",
    "Never alone. Local rules and the weather come first.",
];
