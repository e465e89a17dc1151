//! Use cases of Coatwright: the dog's file read and checked. Knows no database and no page.

pub mod dog_file;
