"""What leaves the program for a person: tables, pictures, pages."""
