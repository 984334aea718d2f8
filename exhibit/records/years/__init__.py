"""Years of many machines: what indexes hold, as Parquet files, and sums over them with DuckDB."""
