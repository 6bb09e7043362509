"""The detection bench: how early a gain is told, how often falsely, against lines that no detector can do much better than.

A rig floor is simulated (``noise``, ``world``), the detector of the product follows it (``followed``), the connections go
through the product's band (``connections``), and ``metrics`` says what came of it beside ``reference``. ``scenarios`` holds
what is run, ``goals`` what we want, ``report`` the tables.
"""
