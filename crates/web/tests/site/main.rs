//! The site as browsers meet it: the whole of it, over a real store in a temporary file, with a clock that is moved.

#![expect(
    clippy::unwrap_used,
    clippy::type_complexity,
    reason = "a test fails where it breaks, and its tables are its own"
)]

mod assets;
mod coats;
mod dog;
mod dog_forms;
mod founding;
mod hostile;
mod house;
mod learned;
mod new_dog;
mod people;
mod photos;
mod shop;
mod signing;
mod table;
