//! Every wiring mistake tried before power is: what each would do at each stage of first power, the fewest readings that
//! catch every harmful one before it can do harm, what escapes, and what readings say of the mistakes.

pub mod cover;
