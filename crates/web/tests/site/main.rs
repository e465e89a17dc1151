//! The site as browsers meet it: the whole of it, over a real store in a temporary file, with a clock that is moved.

mod assets;
mod coats;
mod founding;
mod hostile;
mod house;
mod people;
mod photos;
mod shop;
mod signing;
mod table;
