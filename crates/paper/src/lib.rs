//! What Coatwright puts on paper and screens as pictures.

pub mod drawing;
pub mod theme;
