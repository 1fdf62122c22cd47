//! Rule packs as data: does a cut hold, what is the limit, where would it hold.
