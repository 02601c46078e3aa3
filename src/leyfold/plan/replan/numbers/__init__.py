"""Numbers that each trouble asks for, as they are said."""
