//! The best stack is the best: against exhaustive search, against a general solver, against the trade's usual order.

mod cases;
mod exhaustive;
mod kept;
mod pieces;
mod scaling;
mod solver;
mod stopping;
mod trade;
