//! What a user can count on, one module a promise.

mod export;
