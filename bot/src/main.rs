//! The binary `holdfast`.

fn main() {}
