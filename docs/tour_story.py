"""The story of the filmed tour: twelve invented hours on an invented rig, as its crew lives them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from make_tour import Film

CREW = ("A. Example (invented)", "B. Sample (invented)")
LEVELS = {"Sand Trap": 84.0, "Settling": 80.0, "Degasser": 78.0, "Desander": 76.0, "Suction": 70.0, "Reserve 1": 71.0,
          "Reserve 2": 88.0, "Slug": 40.0, "Trip": 66.0}
"""Above the bottom, as the tour begins [in]."""
ALL = tuple(LEVELS)
SALT_BBL = 4.0
"""What the salt of the film adds to its tank, by a brine table read by hand [bbl]; see ``additions``."""
FLOW = 800 / 42
"""800 gal/min [bbl/min]."""

HEAD = """
# A tour, filmed

The program driven by keyboard alone through a tour of twelve hours, a picture of each step by day and by night. Rig,
well, crew and every number are invented; the limits are demo values and no advice. The pits are dipped from a
simulation that knows nothing of the program's books (`docs/tour_pits.py`), so what the screen says could be wrong and
would show. Made by `python docs/make_tour.py`.

> This log is an aid. It is not a well-control or safety system and may be late, incomplete or wrong. Follow the rig's
> own well-control procedures. Anyone authorised by them may stop work, flow-check or shut in without waiting for this
> log. If in doubt, act as they say. A quiet screen does not mean a stable well.
"""


def play(film: Film) -> None:
    """The whole tour."""
    relief(film)
    checks(film)
    transfer(film)
    additions(film)
    trap(film)
    sweep(film)
    gate(film)
    paper(film)
    sensors(film)
    kick(film)
    relieved(film)


def gauge(film: Film, tanks: tuple[str, ...] = (), *, depth: bool = True) -> None:
    """Walk from the shaker to the suction and key each dip as it is called: a third of a minute a tank. What the row
    asks about is kept with a second Enter."""
    for tank in tanks or ALL:
        film.wait(1 / 3)
        film.dip(film.pits.stick(tank))
    if depth:
        film.enter(f"{film.pits.hole:.1f}")
        film.enter(f"{film.pits.bit:.1f}")
    film.settle()


def relief(film: Film) -> None:
    """06:00: the crew takes over; the first round and the zero."""
    film.shoot("opened", "A new log", "Start, the rig file, Enter.",
               "No difference yet: nothing was gauged and nobody set a zero. What isn't watched is said in words.")
    film.log("handover", leaving=CREW[1], arriving=CREW[0],
             remark="Reserve 1 is next to be used; the trap was dumped at 04:00")
    film.press("Ctrl+W")
    film.enter(CREW[0])
    film.log("activity", activity="drilling")
    film.log("pumps", state="on", flow="800")
    film.pits.flow, film.pits.drilling = FLOW, True
    film.wait(2)
    film.press("F5")
    gauge(film, ("Sand Trap", "Settling", "Degasser"), depth=False)
    film.shoot("round", "The first round", "F5, then each dip as it is called by radio and Enter.",
               "One row a tank in gauging order; the volume appears as the dip is typed.")
    gauge(film, tuple(tank.name for tank in film.pits.rig.tanks[3:]))
    film.shoot("round-saved", "Saved", "Enter on the last row goes to the depths, and Enter there saves.",
               "What the round made, in words.")
    film.press("Ctrl+0")
    film.fill(length="60", reason="start of the tour")
    film.press("Ctrl+1")
    film.shoot("zero", "The difference counts from here", "Ctrl+0: the length of full pipe above the rotary, and why.",
               "The big number is what isn't explained, with its uncertainty.")


def whole_round(film: Film, clock: str) -> None:
    """Rounds of all tanks half an hour apart until a rig time, the last at it, with nothing to show of them."""
    while film.minutes_to(clock) > 45:
        film.wait(30)
        film.press("F5")
        gauge(film)
    film.until(clock)
    film.press("F5")
    gauge(film)


def checks(film: Film) -> None:
    """06:10: the board, and what is looked at once a tour."""
    film.press("Ctrl+3")
    film.shoot("board", "The line-up board", "Ctrl+3.",
               "Where the returns go, which tanks are in, valves, gates and equipment, since when, and what isn't as "
               "the rig file has it; beside it room, usable mud and what the sticks should read.")
    film.log("stick", tank="Suction", stick=film.pits.stick("Suction"),
             sensor=f"{film.pits.inches('Suction') - 1.5:.2f}")
    film.log("mud ch", density_in="10.2", density_out="10.2", temperature_in="96", temperature_out="112")
    film.log("gas", gas="0.4", what="background")
    film.shoot("checks", "Stick against sensor, mud and gas", "F6, a word of the kind, Enter, the values, Enter.",
               "A sensor that is an inch and a half off is said so; nothing is corrected by it.")
    film.until("06:32")
    film.press("F5")
    gauge(film, ALL[:4], depth=False)
    film.shoot("targets", "What the stick should read", "F5, the first four tanks.",
               "Beside the last stick stands what this one should say, by all that is booked since.")
    gauge(film, ALL[4:])


def transfer(film: Film) -> None:
    """06:45: about to move mud, answered, started, a short round meanwhile, stopped."""
    film.until("06:45")
    film.press("Ctrl+M")
    film.fill(from_="Reserve 1", to="Suction", volume="24", told="driller")
    film.press("Ctrl+1")
    film.shoot("announced", "About to move mud", "Ctrl+M: from, to, how much, who was told.",
               "It stands on the Watch page until it is answered and started, or called off.")
    film.press("Ctrl+Shift+A")
    film.fill(words="go ahead, watching")
    film.wait(1)
    film.press("Ctrl+Shift+S")
    film.fill(rate="2 bbl/min")
    film.pits.move("Reserve 1", "Suction", 24, 12)
    film.press("Ctrl+1")
    film.wait(6)
    film.shoot("running", "The valve is open", "Ctrl+Shift+A and the answer, Ctrl+Shift+S and the rate.",
               "The volume so far runs with the clock, and the expected with it.")
    film.press("Shift+F5")
    gauge(film, ("Suction", "Trip"), depth=False)
    film.shoot("short-round", "The short round", "Shift+F5: suction and trip tank only.",
               "In the middle of a transfer the stick should read what has come over so far. The other tanks stay at "
               "their last dips.")
    film.press("Return", "Return")
    film.until("06:58")
    film.press("Ctrl+1", "Ctrl+Shift+1")
    film.fill(volume="24")


def connection(film: Film) -> None:
    """Pumps off, a stand filled, pumps on."""
    while film.pits.above > 1e-6:
        film.wait(0.5)
    film.press("F7", "Ctrl+Return")
    film.pits.flow, film.pits.drilling = 0.0, False
    film.log("activity", activity="connection")
    film.log("depth", hole_depth=f"{film.pits.hole:.1f}", bit_depth=f"{film.pits.bit:.1f}")
    film.wait(3)
    film.pits.fill_stand()
    film.log("stand")
    film.wait(1)
    film.press("F7", "Ctrl+Return")
    film.pits.flow = FLOW
    film.wait(2)
    film.log("activity", activity="drilling")
    film.pits.drilling = True


def additions(film: Film) -> None:
    """07:36: rain, barite, salt, and a degasser that fills."""
    whole_round(film, "07:02")
    connection(film)
    whole_round(film, "07:32")
    film.press("Ctrl+1")
    film.shoot("after-connection", "After a connection", "F7 off, stand filled, F7 on; then a round.",
               "The lines drained and were filled, the stand took its mud: all of it is explained, each by its line.")
    film.log("rain", rate="3 bbl/h", state="on", to="active", what="rain", remark="deck drains to the suction")
    film.pits.rain = 3 / 60
    film.pits.move("", "Suction", 5000 / (42 * 35.0), 20)
    film.wait(20)
    film.log("addition", time=film.now(-20), to="Suction", mass="5000 lbm", density="35", end=film.now(),
             remark="barite")
    whole_round(film, "08:02")
    film.pits.move("", "Reserve 2", SALT_BBL, 10)
    film.wait(10)
    film.press("F6")
    film.enter("salt")
    film.fields(to="Reserve 2", salt="potassium chloride", mass="4000 lbm", into="290", had="3")
    film.shoot("salt", "Salt, by its table", "F6, salt, Enter; the mass and what it goes into.",
               "Dissolved salt takes less room than grains: the volume comes from a table of brine densities.")
    film.fill(time=film.now(-10), end=film.now())
    film.log("equipment", equipment="Degasser unit", state="on")
    film.pits.move("Suction", "", 7, 2)
    whole_round(film, "08:32")
    film.press("Ctrl+1")
    film.shoot("explained", "Rain, barite and a degasser", "Three entries and a round.",
               "Each has its line in what the expected is made of; the rate in force stands below with its age.")
    film.log("rain", state="off", to="active", what="rain")
    film.pits.rain = 0.0


def trap(film: Film) -> None:
    """08:50: the sand trap dumped by two sticks; booked twice at first, and put right."""
    film.until("08:50")
    before = film.pits.stick("Sand Trap")
    film.pits.move("Sand Trap", "", 30, 3)
    film.wait(3.5)
    film.log("trap", time=film.now(-3.5), end=film.now(-0.5), from_="Sand Trap", before=before,
             after=film.pits.stick("Sand Trap"), what="settled solids")
    film.press("Ctrl+1")
    film.shoot("count-once", "Counted twice?", "F6, trap, Enter: the stick before and after, and what went.",
               "The volume follows from the sticks. Settled solids left the books already, as cuttings carried off: "
               "the page says so, and why that is dangerous.")
    film.press("Ctrl+4", "Return")
    film.fill(what="mud", why="it was mud; the shaker takes the cuttings")
    film.shoot("corrected", "Put right", "Ctrl+4, Enter on the entry, what it was, and why.",
               "The old line is struck through and stays; who and why stand beside the new one.")


def sweep(film: Film) -> None:
    """09:15: a sweep from the slug tank, then a connection."""
    whole_round(film, "09:02")
    film.until("09:15")
    film.pits.move("Slug", "Suction", 15, 5)
    film.wait(5)
    film.log("sweep", time=film.now(-5), what="sweep", from_="Slug", volume="15", end=film.now())
    whole_round(film, "09:24")
    film.press("Ctrl+1")
    film.shoot("sweep", "A sweep is in the well", "F6, sweep, Enter; then a round.",
               "As much mud came back as went down: the slug tank's mud is in the active system now.")
    connection(film)
    whole_round(film, "09:50")


def gate(film: Film) -> None:
    """10:25: a gate closed and opened again."""
    whole_round(film, "10:20")
    film.until("10:25")
    film.press("Ctrl+3")
    while film.line() != "Gate 1":
        film.press("Down")
    film.press("Return")
    film.fill()
    film.press("Ctrl+3")
    film.shoot("gate", "A gate is closed", "Ctrl+3, down to the gate, Enter, Enter.",
               "The tank behind it is out of the active system, at what it held then: the difference doesn't step.")
    whole_round(film, "10:48")
    film.until("10:55")
    film.press("Ctrl+3")
    while film.line() != "Gate 1":
        film.press("Down")
    film.press("Return")
    film.fill()


def paper(film: Film) -> None:
    """11:25: the computer is off for forty minutes; a round is kept on paper and keyed in later."""
    whole_round(film, "11:18")
    film.sheet("dip-sheet", "A blank dip sheet", "F5, Ctrl+P.",
               "A PDF to print and fill in by hand, with this rig's tanks and their last sticks, beside the log.")
    film.until("11:25")
    film.switch_off(16)
    sticks, depth = [film.pits.stick(tank) for tank in ALL], film.pits.hole
    film.switch_off(24)
    film.press("Ctrl+1")
    film.shoot("was-off", "The computer was off", "Start it again.",
               "The log opens where it was left and keeps from when to when nobody watched.")
    film.press("F5", "Ctrl+L")
    film.type_at("from", "1141")
    film.type_at("to", "1144")
    for stick in sticks:
        film.dip(stick)
    film.shoot("catch-up", "A round from paper", "F5, Ctrl+L, when it was gauged, then the sticks from the sheet.",
               "It counts at its own time; the log keeps when it was keyed in beside it.")
    film.enter(f"{depth:.1f}")
    film.enter(f"{depth:.1f}")
    film.press("Ctrl+L")
    gauge(film)
    connection(film)
    whole_round(film, "12:30")


def sensors(film: Film) -> None:
    """12:35: readings of a sensor, from another program's file with headings of its own."""
    level = f"{film.pits.inches('Trip') * 2.54:.1f}".replace(".", ",")
    rows = "".join(f"06.01.2026;12:{minute:02};{level};98\n" for minute in range(20, 33, 2))
    film.write_file("trip sensor.csv", f"Datum;Uhrzeit;Level Trip (cm);Akku\n{rows}")
    film.press("Ctrl+4", "Ctrl+I")
    film.settle()
    film.enter("trip sensor.csv")
    film.press("Return", "Return")
    film.settle()
    film.shoot("file", "A file of another kind", "Ctrl+I on the log, the file's name, Enter.",
               "Its columns stand there with their first values; what can't be known is asked, and nothing is added "
               "before.")
    film.choose("Date", "Time of day", "Trip: level", "cm", "Ignore it")
    film.back_to("Dates")
    film.choose("day first: 31/03/2026", "the rig's zone (Etc/GMT+6)")
    film.settle(15)
    film.shoot("file-said", "Said, and looked at", "Down and Enter in each list.",
               "Its first rows as they will be read; the next file with these headings is read the same way.")
    film.press("Ctrl+Return")
    film.settle()
    film.settle()


def kick(film: Film) -> None:
    """13:46: a drilling break, a gain, a flow check, the well is shut in."""
    whole_round(film, "13:36")
    film.until("13:46")
    film.pits.speed = 110.0
    film.wait(4)
    film.log("drilling br", speed_before="45", speed="110", told="driller", answer="watch it, short round now")
    film.pits.influx = 1.0
    film.wait(6)
    film.press("Shift+F5")
    gauge(film, ("Suction", "Trip"), depth=False)
    film.enter(f"{film.pits.hole:.1f}")
    film.enter(f"{film.pits.bit:.1f}")
    film.press("Ctrl+1")
    film.shoot("gain", "A gain", "Shift+F5: two sticks.",
               "The warning takes its strip on every page and sounds; the caution stands beside it. A short round is "
               "enough to raise it, and never enough to clear it.")
    film.press("F8")
    film.log("told", what="gain of 6 bbl after the break", told="driller", answer="picking up, pumps off")
    film.press("F7", "Ctrl+Return")
    film.pits.flow, film.pits.drilling = 0.0, False
    check_flow(film)
    film.pits.influx = 0.0
    film.log("shut", state="shut in", pipe_pressure="250", casing_pressure="400", told="toolpusher")
    film.log("activity", activity="well control")
    film.press("Ctrl+1")
    film.shoot("shut-in", "The well is shut in", "F6, shut, Enter: the gain is filled in, the pressures are typed.",
               "The gain stands as it was, with what the books say beside it, and defers to the rig's own procedures. "
               "Nothing is quieter for it.")


def check_flow(film: Film) -> None:
    """Seven minutes by the clock: the lines drain back, and then it doesn't die away."""
    film.press("Ctrl+F")
    for minute in range(1, 8):
        before = film.pits.volume["Suction"]
        film.wait(1)
        if minute != 4:                                                 # somebody called; nobody read that one
            film.enter(f"{film.pits.volume['Suction'] - before:.1f}")
        if minute == 3:
            film.shoot("flow-check", "The flow check's clock", "Ctrl+F; each minute the volume and Enter.",
                       "The lines drain back first. The program shows the minutes and judges nothing; it says what "
                       "drain-back does, and to act by the rig's own procedures.")
    film.press("Down")
    film.fields(result="flowing", seen_by=CREW[0], trend="steady", place="on bottom, picked up")
    film.shoot("flow-check-end", "Flowing", "Trend, result and who watched; Ctrl+Enter finishes.",
               "A minute that nobody read stays a gap. The result is the person's.")
    film.press("Ctrl+Return")
    film.settle()
    if film.form() is not None:
        raise SystemExit(f"the flow check was not saved: {film.form().words.said}")


def relieved(film: Film) -> None:
    """17:50: the next crew."""
    whole_round(film, "17:40")
    film.until("17:55")
    film.log("handover", leaving=CREW[0], arriving=CREW[1], remark="well shut in, gain kept at 6 bbl; gate 1 open")
    film.press("Ctrl+4", "End")
    film.shoot("handed-over", "Handed over", "F6, handover, Enter.",
               "The tour as one list: nothing was kept on paper but the round that was keyed in afterwards.")
    film.press("Ctrl+1")
    film.shoot("end", "Twelve hours", "Ctrl+1.",
               "Every barrel of the tour has a line, but those that came in unasked.")
