// @ts-check
// The name this page goes by for as long as it is open: what is tried on it belongs to it alone.

export const PAGE = Array.from(crypto.getRandomValues(new Uint8Array(12)), (byte) => byte.toString(16).padStart(2, '0')).join('');
