//! The rules that always hold.
