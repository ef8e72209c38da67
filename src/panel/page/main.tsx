// Starts the page: the stream from the service, the place in the address, the first view.
import '@fontsource-variable/atkinson-hyperlegible-next/wght.css';
import { render } from 'preact';
import { App } from './app.tsx';
import { start, watch } from './state/live.ts';
import { follow } from './state/place.ts';

const root = document.getElementById('page');
if (root !== null) {
  root.replaceChildren();
  render(<App />, root);
}
follow();
watch();
void start();
