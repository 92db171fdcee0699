//! Speed of the codec.
fn main() {}
