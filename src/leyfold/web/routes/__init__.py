"""What may be asked for, one module a matter. No `from __future__ import annotations` in these: FastAPI reads
the annotations of their functions."""
