/** Sentences about a counter that was reset part-way. */
export const COUNTER = {
  'reset.title': 'The counter was reset before this reading',
  'reset.help': 'This reading and all that is recorded after it count on from there.',
  'reset.had_shown': 'It had shown',
  'reset.set_to': 'It was set to',
  'reset.tell': 'The counter was reset',
  'reset.not': 'It was not reset',
  'reset.words': 'it had shown {had} m and was set to {set} m',
  'reset.in_log': 'Counter reset: it had shown {had} and was set to {set}',
  'part.by_order': 'By the order of recording',
  'part.first': '1: before it was reset at {m}',
  'part.between': '{n}: after that, until it was reset at {m}',
  'part.last': '{n}: after it was reset'
};
