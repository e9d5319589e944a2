//! Reading files of every kind into sheets of rows.
