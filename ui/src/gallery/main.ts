/** Every component in its states, with invented values: `npm run dev`, then `/gallery.html`. Not in the built app. */

import '../lib/look/look.css';
import { mount } from 'svelte';
import { here } from '../lib/frame/here.svelte';
import { startMode } from '../lib/look/mode';
import Gallery from './Gallery.svelte';

startMode();
here.start();
const target = document.getElementById('app');
if (target) mount(Gallery, { target });
