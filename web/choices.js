// What the forms offer to choose from, in the shop's own words.
export const ROLES = ['primer', 'filler', 'enamel', 'japan', 'size', 'leaf', 'decal', 'touch-up', 'clear'];
export const APPLICATIONS = ['brush', 'spray', 'aerosol', 'dip', 'transfer'];
export const PLACE_KINDS = ['room', 'booth', 'cabinet', 'oven', 'shelf'];
export const OLD_FINISHES = ['not tested', 'lead', 'tested clear'];
export const CLASSES = ['alkyd-enamel', 'spray-enamel', 'alkyd-primer', 'lacquer', 'shellac', 'oil-varnish', 'epoxy-primer', 'epoxy-build', 'polyurethane', 'waterborne',
  'oil-size-quick', 'oil-size-slow', 'japan-size', 'water-size', 'waterslide-transfer', 'baking-japan', 'stoving-enamel', 'touch-up-enamel'];

export const RISKS = [['below-ground', 'Below ground'], ['attached', 'Joined to the house'], ['lived-in', 'Somebody lives or sleeps there'], ['pilot-or-furnace', 'Pilot flame or furnace'],
  ['open-flame-heater', 'Open-flame or glowing heater'], ['fan-motor-in-stream', 'Fan motor sits in the air that leaves'], ['electronics-near', 'Phones, chargers or sensors near the spray']];
export const HAZARDS = [['solvent', 'Gives off solvent vapour'], ['flammable', 'Flammable'], ['aerosol', 'Aerosol can'], ['self-heating', 'Drying oil: rags heat themselves'], ['two-part', 'Mixed from two parts'],
  ['isocyanate', 'Contains isocyanates'], ['baked', 'Cured in an oven'], ['skin-sensitiser', 'Can make skin allergic']];
