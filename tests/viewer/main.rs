//! Pictures and the window: what a maker and a client can count on seeing.

mod looks;
mod toadstool;
