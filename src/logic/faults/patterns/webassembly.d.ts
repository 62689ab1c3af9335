/** The part of the engine's WebAssembly interface that is used here; Node's types only name it. */
declare namespace WebAssembly {
  class Memory {
    constructor(size: { readonly initial: number });
    /** @throws RangeError when it cannot be had */
    readonly buffer: ArrayBuffer;
  }
  class Module {
    /** @throws CompileError for bytes that are no valid module */
    constructor(bytes: Uint8Array);
  }
  class Instance {
    constructor(
      module: Module,
      imports: Readonly<Record<string, Readonly<Record<string, Memory>>>>,
    );
    readonly exports: Readonly<Record<string, unknown>>;
  }
}
