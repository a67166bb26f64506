"""Every business number, with basis, source and date. Data files, and the loader that refuses orphans."""

from weldworth.tables.load import BASES, Row, Tables, load_tables

__all__ = ["BASES", "Row", "Tables", "load_tables"]
