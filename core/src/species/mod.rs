//! Species: names, aliases, needs, cautions.
