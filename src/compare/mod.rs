//! Two packages or several, side by side: what was changed, what that moved, and what each offer comes to.
//!
//! [`things`] says a package as plain facts, so that two packages can be compared one key at a time; every field of
//! every part is taken apart there, and one that is forgotten does not compile.

mod blend;
mod causes;
mod changed;
mod extent;
mod facts;
mod fewer;
mod figures_lost;
mod inputs;
mod margins;
mod moved;
mod names;
mod offer;
mod power;
mod renamed;
mod wired;

pub use causes::{Because, Cause, Causes, Part, causes};
pub use changed::{Change, Difference, differences};
pub use extent::{Extent, extents};
pub use facts::{Fact, Kind, NOT_STATED, Thing, things};
pub use fewer::in_fewer_states;
pub use figures_lost::figures_lost;
pub use moved::{Move, Moved, moved};
pub use names::folded;
pub use offer::{Better, Cell, Offer, OfferRow, Part as OfferPart, Shape, offer_rows};
pub use renamed::{Names, Renamed, renamed};
