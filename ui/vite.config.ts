import { fileURLToPath } from 'node:url';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { VitePWA } from 'vite-plugin-pwa';
import { defineConfig } from 'vitest/config';

/** What the hub allows a page (`crates/server/src/guard/headers.rs`), so that `preview` fails where the hub would. */
const policy =
  "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self' blob:; img-src 'self' blob: data:; " +
  "connect-src 'self' https: http://localhost:*; object-src 'none'; base-uri 'none'; form-action 'self'; " +
  "frame-ancestors 'none'";

export default defineConfig({
  base: '/',
  resolve: { alias: { $lib: fileURLToPath(new URL('./src/lib', import.meta.url)) } },
  build: {
    target: ['chrome111', 'firefox113', 'safari16.4'],
    // The hub's policy lets no font or style come out of a data: address.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    // All of it is loaded with the first visit, to be there offline: one file packs a fifth smaller than sixty.
    cssCodeSplit: false,
    rolldownOptions: { output: { codeSplitting: false } },
  },
  worker: { format: 'es' },
  preview: { headers: { 'Content-Security-Policy': policy } },
  plugins: [
    svelte(),
    VitePWA({
      registerType: 'prompt',
      injectRegister: false,
      // The patterns below find them; named twice they would be kept twice.
      includeManifestIcons: false,
      manifest: {
        id: '/',
        name: 'airshelf',
        short_name: 'airshelf',
        description: 'Intake parts, what the flow bench says of them, and what it cannot tell.',
        start_url: '/',
        scope: '/',
        display: 'standalone',
        background_color: '#fbf8f1',
        theme_color: '#fbf8f1',
        icons: [
          { src: 'icon-192.png', sizes: '192x192', type: 'image/png' },
          { src: 'icon-512.png', sizes: '512x512', type: 'image/png' },
          { src: 'icon-maskable-512.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' },
          { src: 'icon.svg', sizes: 'any', type: 'image/svg+xml' },
        ],
      },
      workbox: {
        globPatterns: ['**/*.{js,css,html,svg,png,woff2,wasm,webmanifest}'],
        maximumFileSizeToCacheInBytes: 16 * 1024 * 1024,
        inlineWorkboxRuntime: true,
        sourcemap: false,
        cleanupOutdatedCaches: true,
        navigateFallbackDenylist: [/^\/api\//, /^\/health$/],
      },
    }),
  ],
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
});
