// Every topic that a station has to do with, in one list. The AsyncAPI document, the access list and `wire --list` are
// three ways to print it, and a test holds it against the traffic of a real day.
import type { StationFile } from '../station/file/station.ts';
import type { Plant } from '../station/plant.ts';
import { type Announcement, announcementsOf } from './announcements.ts';
import type { Channel } from './channel.ts';
import { deviceChannels } from './device-channels.ts';
import { discoveryOf } from './discovery.ts';
import { announcementChannels, homieChannels } from './homie-channels.ts';
import { type Device, deviceOf } from './model.ts';
import { ownChannels, ownChannelsOfHomie } from './own-channels.ts';

export interface Wiring {
  readonly plant: Plant;
  readonly device: Device;
  readonly announcements: readonly Announcement[];
  readonly channels: readonly Channel[];
}

/** @throws Error or AnnouncementError naming the place in the station file and the mend. */
export function wiringOf(plant: Plant, station: Pick<StationFile, 'announce'>): Wiring {
  const device = deviceOf(plant, station.announce);
  const announcements = [...announcementsOf(plant, station.announce, device), ...discoveryOf(plant, device)];
  const channels = [
    ...ownChannels(plant),
    ...deviceChannels(plant),
    ...ownChannelsOfHomie(plant),
    ...homieChannels(device),
    ...announcementChannels(announcements, device.qos),
  ];
  return { plant, device, announcements, channels: withDifferentIds(channels) };
}

/** `a/b` and `a.b` are two topics and would be one id. */
function withDifferentIds(channels: readonly Channel[]): readonly Channel[] {
  const taken = new Set<string>();
  return channels.map((channel) => {
    let id = channel.id;
    for (let count = 2; taken.has(id); count++) id = `${channel.id}.${count}`;
    taken.add(id);
    return { ...channel, id };
  });
}
