//! From now on: how long a tier lasts, how much keying, when to shed.

#[path = "support/mod.rs"]
mod support;

#[path = "support/shipped.rs"]
mod shipped;

#[path = "from_now/by_hand.rs"]
mod by_hand;
#[path = "from_now/cards.rs"]
mod cards;
#[path = "from_now/lines.rs"]
mod lines;
#[path = "from_now/programs.rs"]
mod programs;
#[path = "from_now/sdp.rs"]
mod sdp;
#[path = "from_now/skies.rs"]
mod skies;
