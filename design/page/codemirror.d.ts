// The bundled editor is not checked: it is written by others, and typed by them.
declare const own: any;
export = own;
