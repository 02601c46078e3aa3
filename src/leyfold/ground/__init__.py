"""The ground: fields read and mended, laid out in stands and paddocks, and allotted day by day."""
