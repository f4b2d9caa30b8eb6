/** Sentences of entering observations: place, keys of the usual ones, what is as last time, what runs. */
export const OBSERVATION = {
  'place.back': 'back {m} m',
  'place.on': 'on {m} m',
  'place.at_reading': 'As last reading',
  'place.at_observation': 'As last observation',
  'place.at_stretch': 'As last change of pipe',
  'place.at_remark': 'As last remark',
  'place.at_photo': 'As last photo',
  'place.at_reset': 'As the counter was set',
  'place.at_farthest': 'Farthest (last {m})',
  'place.farthest': 'Farthest so far. Recorded last: {m}',
  'place.offered': 'Counter filled in. {how}.',
  'place.take': 'Take {m}',
  'place.at_zero': 'Chainage zero',
  'place.own': 'As typed here',

  'usual.title': 'Usual observations',
  'usual.name': '{title}: {words}',
  'usual.more': 'Others, and those used here before',

  'code.new_stretch': 'New stretch',
  'code.as_written': 'All of it, as written',
  'code.what_it_means': 'What it means',

  'carried.tag': 'As last time, at {m}',
  'carried.tag_plain': 'As last time',
  'carried.how': 'Not looked at anew until you tap or type it; saved as “as last time”.',
  'carried.kind': 'as last time',
  'carried.words': 'as last time',
  'quantity.usual': 'Usual values',
  'quantity.clear': 'Clear',

  'clock.spans': 'Usual spans',
  'clock.span_invert': 'invert 5–7',
  'clock.span_crown': 'crown 11–1',
  'clock.span_round': 'all round',
  'clock.span_last': 'last time {hours}',

  'continuous.change_key': 'Changed',
  'continuous.open': 'Still running',
  'continuous.change_of': 'Change of {code} number {n}, which began at {m}.',
  'continuous.change_none':
    'No {code} runs at present. It is kept as a change of number {n} and shown as odd.',
  'continuous.pick': '{code} {title}, since {m}',
  'continuous.number': 'no. {n}',

  'running.title': 'Running',
  'running.since': '{code} no. {n} since {m}',
  'running.quantity': '{value} since {m}',
  'running.quantity_none': 'no quantity given',
  'running.finish': 'Finish here',
  'running.change': 'Changed',
  'running.finishes': 'Finish of {title}',
  'running.changes': 'Change of {title}',
  'running.rest': 'All fields'
};

export const CHANGE = {
  'change.one': 'Change of pipe',
  'change.new': 'Change of pipe',
  'change.save': 'Save change',
  'change.saved': 'New stretch from {m}',
  'change.what': 'What is different from here on?',
  'change.field': 'Different: {label}',
  'change.was': 'until here: {value}',
  'change.size': 'Size',
  'change.from_here':
    'The stretch that began at {m} ends here, and the next one begins. What you leave alone stays as it was.',
  'change.ends_elsewhere':
    'The stretch that began at {from} says that it ends at {to}. That is left as it stands; mend it on that stretch.',
  'change.first': 'No stretch begins before this place. Say what the pipe is from here on.',
  'change.nothing': 'Tap what is different.',
  'change.none_said': '{label} is marked as different. Say what it is now, or unmark it.',
  'change.place_needed': 'Counter reading is needed.',
  'change.place_before': 'The running stretch begins at {m}. A change lies beyond it.',
  'what.change': 'the change of pipe'
};
