//! The columnar store: schemas, Parquet files, atomic writes, scans.
