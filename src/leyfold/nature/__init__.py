"""The equations of birds, grass, sun and air: one process a module, numpy only, no files read.

Scalars or arrays in, arrays of the broadcast shape out. SI units, with days for age and °C for temperature;
the unit stands last in a name. Every docstring states its range and source. A value that is missing (NaN),
infinite or outside what the equation can mean raises ValueError: nothing is taken for zero.
"""
