//! The client's page: small enough for a letter, closed to the network, in the light of the window, whatever things are called;
//! and the choices that come back.

mod answers;
mod light;
mod pages;
mod sheet;
