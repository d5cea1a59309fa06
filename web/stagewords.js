// The stages, in their order, as they are told where there is room.
export const STAGE_WORDS = { touch: 'set to touch', 'dust-free': 'dust-free', 'tack-free': 'tack-free', handle: 'dry to handle', tape: 'takes tape', unmask: 'pull the tape', sand: 'ready to sand',
  recoat: 'next coat', leaf: 'takes leaf', seal: 'seal the leaf', bake: 'ready for the oven', cure: 'cured through' };
export const STAGES = Object.keys(STAGE_WORDS);
