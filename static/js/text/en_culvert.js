/** Sentences of the culvert screen. */
export const CULVERT = {
  'culvert.title': 'Short culvert',
  'culvert.why':
    'What one stretch passes under a depth of water at its inlet, by inlet and by outlet control (FHWA HDS-5). An indication for a competent engineer.',
  'culvert.stretch': 'Stretch',
  'culvert.stretch_words': 'Stretch {n}, {from} to {to} m',
  'culvert.inlet': 'Inlet',
  'culvert.headwater': 'Headwater',
  'culvert.headwater_help': 'Depth of water above the invert at the inlet.',
  'culvert.tailwater': 'Tailwater',
  'culvert.tailwater_help': 'Depth of water above the invert at the outlet; 0 for a free outfall.',
  'culvert.length': 'Length of the culvert',
  'culvert.passes': 'It passes',
  'culvert.between': 'between {a} and {b} l/s at the ends of the band of its fall',
  'culvert.inlet_control': 'The inlet decides ({state}).',
  'culvert.outlet_control': 'The barrel and the outlet decide.',
  'culvert.unsubmerged': 'water surface free at the inlet',
  'culvert.transition': 'inlet about to drown',
  'culvert.submerged': 'inlet drowned',
  'culvert.by_inlet': 'Inlet control alone: {q} l/s',
  'culvert.by_outlet': 'Outlet control alone: {q} l/s',
  'culvert.none': 'No number: {why}',
  'culvert.choose': 'Choose a stretch and an inlet, and type the headwater.',
  'culvert.no_inlet': 'The table has no inlet for this shape of bore.',
  'culvert.source': 'Constants of this inlet: {source} ({certainty}).',
  'culvert.open': 'As a short culvert'
};
