/** English: whether the app is on this phone, and a job that is not. */
export const KEPT = {
  'kept.title': 'With no signal',
  'kept.begun': 'Keeping the app on this phone',
  'kept.keeping': 'Keeping the app on this phone: {size}',
  'kept.ready': 'Ready for no signal',
  'kept.ready_whole': 'All {n} files of the app ({size}) are on this phone and were read back. It opens with no signal.',
  'kept.looking': 'Looking whether the app is on this phone.',
  'kept.no_signal': 'The signal broke off. It goes on by itself.',
  'kept.server': 'The server answered with a fault. It is tried again by itself.',
  'kept.phone_full': 'The phone has no room left for the app. Free some space, then try again.',
  'kept.new_release': 'The server has a newer app now. It is fetched by itself.',
  'kept.damaged': 'A part of the app did not arrive whole. It is fetched again by itself.',
  'kept.again': 'Try again now',
  'kept.not_secure': 'This address is not secure (http), so the browser does not keep the app. Without the server it does not open.',
  'kept.not_secure_do': 'Open Fallbook by its https address. Ask the office for it.',
  'kept.no_worker': 'This browser does not keep the app: perhaps it is a private window. Without the server it does not open.',
  'kept.no_worker_do': 'Open this address in an ordinary window of Chrome, Edge, Firefox or Safari.',
};
