//! Random acts against a small model of the rules, and faults.
