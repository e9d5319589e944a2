/** Which component draws which screen; all of them come with the first file, to be there offline. */

import type { Component } from 'svelte';
import type { Route, Screen } from './lib/frame/route';

/** A screen is given its route and draws its own `Frame`. */
export type ScreenComponent<S extends Screen = Screen> =
  Component<{ route: Extract<Route, { screen: S }> }> | Component<Record<string, never>>;

export const SCREENS: { readonly [S in Screen]?: () => Promise<{ default: ScreenComponent<S> }> } = {
  shelf: () => import('./screens/shelf/Parts.svelte'),
  search: () => import('./screens/shelf/Parts.svelte'),
  newPart: () => import('./screens/shelf/NewPart.svelte'),
  part: () => import('./screens/shelf/Part.svelte'),
  assemblies: () => import('./screens/shelf/Assemblies.svelte'),
  newAssembly: () => import('./screens/shelf/NewAssembly.svelte'),
  assembly: () => import('./screens/shelf/Assembly.svelte'),
  vehicle: () => import('./screens/shelf/Vehicle.svelte'),
  findings: () => import('./screens/findings/Findings.svelte'),
  finding: () => import('./screens/findings/Evening.svelte'),
  engine: () => import('./screens/findings/Engine.svelte'),
  records: () => import('./screens/records/Records.svelte'),
  audit: () => import('./screens/records/Audit.svelte'),
  quarantine: () => import('./screens/records/Quarantine.svelte'),
  device: () => import('./screens/device/Device.svelte'),
  pair: () => import('./screens/device/Pair.svelte'),
  conflicts: () => import('./screens/device/Conflicts.svelte'),
  restore: () => import('./screens/device/Restore.svelte'),
  bench: () => import('./screens/bench/Evenings.svelte'),
  newEvening: () => import('./screens/bench/NewEvening.svelte'),
  benchEquipment: () => import('./screens/bench/Equipment.svelte'),
  session: () => import('./screens/bench/Evening.svelte'),
};
