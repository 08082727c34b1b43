//! Monte Carlo over what is uncertain, after JCGM 101: seeded, parallel, the same bytes on any
//! number of threads.

mod deviations;
mod draw;
mod lower_triangle;
mod moved_gel;
mod quantile;
mod source;
mod varied;

pub(super) use deviations::Deviations;
pub use draw::Draw;
pub(super) use lower_triangle::lower_triangle;
pub use quantile::quantile;
pub use source::DrawSource;
pub use varied::Varied;
