// What a message for another hub may leave open, and what is put there. The rules refuse a misspelt one; the room that
// writes the messages (`hub/announcements.ts`) fills in exactly these, and a test holds the two together.

export interface Placeholder {
  /** What is put there. */
  readonly words: string;
  /** Whether it can have no value: then the JSON member that is nothing but this placeholder is left out. */
  readonly mayLack: boolean;
  /** Whether it belongs to a property; the others belong to the station. */
  readonly ofProperty: boolean;
}

const station = (words: string): Placeholder => ({ words, mayLack: false, ofProperty: false });
const property = (words: string, mayLack = false): Placeholder => ({ words, mayLack, ofProperty: true });

// biome-ignore format: a table reads as a table
export const ANNOUNCEMENT_PLACEHOLDERS = {
  $station:             station('the id of the station'),
  $stationName:         station('its name'),
  $model:               station('"Vatwarden"'),
  $release:             station('the release of the service that announces it'),
  $availabilityTopic:   station('the topic that says whether the station is there'),
  $available:           station('its payload when it is'),
  $unavailable:         station('its payload when the connection was lost'),
  $identifier:          property('one of its kind in the whole house: station, part and property, joined by hyphens'),
  $node:                property('the id of the part that the property belongs to'),
  $nodeName:            property('the name of that part'),
  $kind:                property('what kind of part that is'),
  $property:            property('the id of the property'),
  $name:                property('the name of the property'),
  $label:               property('the names of part and property together'),
  $datatype:            property('integer, float, boolean, string, enum or duration'),
  $unit:                property('its unit', true),
  $values:              property('a list of its values (enum)', true),
  $least:               property('the least value (number)', true),
  $most:                property('the greatest value (number)', true),
  $step:                property('the step between values (number)', true),
  $valueTopic:          property('where its value is published'),
  $commandTopic:        property('where it is commanded (settable)', true),
} as const satisfies Readonly<Record<`$${string}`, Placeholder>>;

export type AnnouncementPlaceholder = keyof typeof ANNOUNCEMENT_PLACEHOLDERS;
