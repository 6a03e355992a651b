"""Contacts, joints and voltage drop: currents and resistances to reckon with.

The 0.64 mm post of a 2.54 mm header carries 3.0 A with crimped 28 AWG wire (data sheet, one
circuit, 30 K rise); 1 A a pin is a default for closed models. Resistances are common practice,
no source: they stand for a good contact and joint, and are settings.
"""

from __future__ import annotations

PIN_DEFAULT_MA = 1000.0  # common practice, no source
PIN_GREATEST_MA = 3000.0  # data sheet, header with 28 AWG

CONTACT_MILLIOHM = 20.0  # one mated contact, of a plug or a pin of the controller; common practice, no source
SWITCH_MILLIOHM = 100.0  # an output that is on; common practice, no source
JOINT_MILLIOHM = 1.0  # soldered joint; common practice, no source

DROP_WARN_PCT = 10.0  # extra-low-voltage lighting; common practice, no source
