// What the page's scripts lean on beyond the standard: elements are taken as what the page has there.

interface Document {
  getElementById(name: string): any;
  querySelector(selector: string): any;
  querySelectorAll(selector: string): NodeListOf<any>;
  readonly activeElement: any;
  addEventListener(kind: string, hears: (event: any) => void, options?: any): void;
}

interface Element {
  querySelector(selector: string): any;
  querySelectorAll(selector: string): NodeListOf<any>;
}

interface Event {
  readonly target: any;
}

interface Error {
  // what a question that failed was answered with; 0 where nothing answered
  status?: number;
}

interface Window {
  bench: any;
}

// what another part of the page puts in
type Told = (...told: any[]) => any;
