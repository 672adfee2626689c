//! Minimum-cost cover: the cheapest set of columns that between them cover every row.
