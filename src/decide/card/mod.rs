//! Card.
