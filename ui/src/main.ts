import './lib/look/look.css';
import { mount } from 'svelte';
import App from './App.svelte';
import { machine } from './lib/backend/machine';
import { here } from './lib/frame/here.svelte';
import { startMode } from './lib/look/mode';

await machine?.begin();
startMode();
here.start();

const target = document.getElementById('app');
if (target) mount(App, { target });
