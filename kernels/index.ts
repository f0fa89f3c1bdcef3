// The inner loops of the house, one module a concept, compiled to one WebAssembly module with SIMD.
// Everything is raw: pointers are byte offsets into the module's memory, sizes are in elements unless named
// otherwise. src/signal/kernels.ts declares the same functions to TypeScript and says what each one does.
export { allocate } from './memory';
export { scanLevels } from './levels';
export { weighK } from './k-weight';
export { scanTruePeak } from './true-peak';
export { loadWindowedPair, transform, addPairPower, drainPower } from './fft';
export { scanFaults, sumBoxes } from './faults';
export { addPairLevels, addCrossPower, addPairChange } from './stereo';
export { splitBands, decimate } from './band-split';
export { unpackIntegers } from './unpack';
export { convolveRows, convolveBetweenRows } from './resample';
export { addGained, addFaded, filterMirrored, turnFrames, weighLevel } from './desk';
export { joinPair, splitPair, crossPair, filterPair } from './biquads';
export { convolveSymmetric, weave, unweave, bend } from './oversample';
export { raiseHeights, followHeights, applyGains } from './limit';
export { holdLevels } from './compress';
export { ditherRow } from './dither';
