"""Volts, resistors and currents: of one lamp by the figures of its data sheet, and of the whole as wired."""
