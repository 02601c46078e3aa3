// Imported first. A library makes an error as it loads, never to be thrown; to say where, the browser would read
// all of the script a second time. Until all is loaded no error says where it was made.

const limit = Error.stackTraceLimit;
Error.stackTraceLimit = 0;
queueMicrotask(() => {
  Error.stackTraceLimit = limit;
});
