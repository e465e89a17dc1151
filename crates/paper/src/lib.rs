//! What Coatwright puts on paper and screens as pictures.

pub mod convert;
pub mod drawing;
pub mod fonts;
pub mod section;
pub mod theme;
