/*
 * A station in small for SPIN, written for the comparison of speeds and for nothing else: a fresh vat, a mixing vat and a
 * system in units, four routes with leases, floats, a batch in stages, and one fault at a time that begins and ends
 * whenever it likes. One tick is one atomic step, as in `prove`. It has five rules where the real core has its whole table, and
 * nothing of alarms, evidence, requests, restarts: a state of it is a few bytes.
 */
#define CAP 12
#define LOW 2
#define HIGH 10
#define LEASE 3
#define FAULTS 12

byte fresh = 6, mixing = 3, system = 6;
byte fill, transfer, supply, drain;          /* ticks that each lease still has */
byte fault, stage, dose, silent;
bool freshHigh, freshLow, mixingHigh, mixingLow, spilled, dry;

inline count_down(lease, stuck) {
  if
  :: lease > 0 && fault != stuck -> lease--
  :: else
  fi
}

inline wet(level, mark, contact, hangs) {
  if
  :: fault == hangs                            /* it says what it said last */
  :: fault != hangs -> contact = (level >= mark)
  fi
}

inline flow(lease, from, to, gone) {
  if
  :: lease > 0 && from > 0 && fault != gone -> from--; if :: to < CAP -> to++ :: else -> spilled = true fi
  :: lease > 0 && from == 0 -> dry = true
  :: else
  fi
}

active proctype station() {
  do
  :: atomic {
       if
       :: fault == 0 -> select (fault : 0 .. FAULTS)
       :: fault != 0 -> skip
       :: fault != 0 -> fault = 0
       fi;
       if
       :: silent < 3 && fault == 12 -> silent++
       :: else -> silent = 0
       fi;

       wet(fresh, HIGH, freshHigh, 1);
       wet(fresh, LOW, freshLow, 2);
       wet(mixing, HIGH, mixingHigh, 3);
       wet(mixing, LOW, mixingLow, 4);

       count_down(fill, 5);
       count_down(transfer, 6);
       count_down(supply, 7);
       count_down(drain, 8);

       /* the batch: fill up, dissolve, deliver in doses, drain first */
       if
       :: stage == 0 && freshLow && !mixingHigh -> stage = 1
       :: stage == 1 && mixingHigh -> stage = 2
       :: stage >= 2 && stage < 6 -> stage++
       :: stage == 6 && dose == 0 && mixingLow -> dose = 4
       :: stage == 6 && !mixingLow -> stage = 0; dose = 0
       :: else
       fi;

       /* wanted and allowed: an `on` is a lease */
       if
       :: silent >= 2 -> skip
       :: else ->
          if :: !freshHigh && (fill > 0 || fresh < 8) -> fill = LEASE :: freshHigh && fault != 5 -> fill = 0 :: else fi;
          if :: stage == 1 && freshLow && !mixingHigh -> transfer = LEASE :: (mixingHigh || !freshLow) && fault != 6 -> transfer = 0 :: else fi;
          if :: dose > 2 && system > LOW -> drain = LEASE; dose-- :: dose <= 2 && fault != 8 -> drain = 0 :: else fi;
          if :: dose > 0 && dose <= 2 && mixingLow -> supply = LEASE; dose-- :: (dose == 0 || !mixingLow) && fault != 7 -> supply = 0 :: else fi
       fi;

       flow(transfer, fresh, mixing, 9);
       flow(supply, mixing, system, 10);
       if :: drain > 0 && system > 0 -> system-- :: drain > 0 && system == 0 -> dry = true :: else fi;
       if :: fill > 0 && fault != 11 -> if :: fresh < CAP -> fresh++ :: else -> spilled = true fi :: else fi;
       /* somebody draws a bucket */
       if :: fresh > 1 -> fresh-- :: true fi
     }
  od
}
