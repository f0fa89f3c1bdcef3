// The inner loops of the house, one module a concept, compiled to one WebAssembly module with SIMD.
// Everything is raw: pointers are byte offsets into the module's memory, sizes are in elements unless named
// otherwise. src/signal/kernels.ts declares the same functions to TypeScript and says what each one does.
export { allocate } from './memory';
export { scanLevels } from './levels';
export { weighK } from './k-weight';
export { scanTruePeak } from './true-peak';
export { loadWindowedPair, transform, addPairPower } from './fft';
export { scanFaults, sumBoxes } from './faults';
export { addPairLevels, addCrossPower } from './stereo';
export { splitBands, decimate } from './band-split';
export { convolveRows, convolveBetweenRows } from './resample';
export { addGained, addFaded, filterMirrored, turnFrames, weighLevel } from './desk';
