#[test] fn ok(){}
