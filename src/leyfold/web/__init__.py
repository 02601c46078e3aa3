"""The farm's own server: the round for phones, records in and out, the people who may. FastAPI and uvicorn
stand in this room alone."""
