//! placeholder
fn main(){}
