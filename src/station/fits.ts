// What closes a gap, once for all who name one: `check`, the protection report, `prove` and `trial`.
export const FIT = {
  contactor: 'A contactor before the relay, named as "upstream".',
  master:
    'A second valve in the line before it, spring-return and closed without power, named as "upstream"; and the overflow float hard-wired into its supply.',
  secondValve:
    'A second valve in the line, spring-return and closed without power, named as "upstream" of the first; or a pump that lifts the water over a siphon break instead.',
  hardWiredFloat:
    'An overflow float hard-wired into the supply of whatever fills the vessel, and a low float in series with each pump: they work when relays weld and computers are off.',
  siphonBreak: 'A siphon break at the highest point of the line, or a valve that closes without power.',
  secondEvidence:
    'A second piece of evidence that fails for other reasons: an overflow float, a level sensor, or a meter in the line.',
  leakSwitch: 'A leak sensor in every tray, and a hard-wired leak switch in the supply of pumps and valves.',
  cutOut:
    'A thermal cut-out and a low float, hard-wired into the supply of the heater, tried now and then as their makers say.',
  thermalCutOut:
    'A thermal cut-out in the supply of the heater, a little above its limit, independent of the thermometer, named as "cutOut"; and tried now and then as its maker says.',
  instrument: 'A second instrument: compare the probe with it before a batch is used, and weigh the salt.',
  thermometer:
    'A second thermometer in the vat, or a thermostat of the system that is independent of this station.',
  endSwitch:
    'Feedback from where it matters: end switches at valves, the current through pumps; or a pump of its own for each way.',
} as const;
