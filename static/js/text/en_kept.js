/** English: whether the app is on this phone, and a job that is not. */
export const KEPT = {
  'kept.title': 'With no signal',
  'kept.begun': 'Keeping the app on this phone',
  'kept.keeping': 'Keeping the app on this phone: {size}',
  'kept.ready': 'Ready for no signal',
  'kept.ready_whole':
    'All {n} files of the app ({size}) are on this phone and were read back. It opens with no signal.',
  'kept.looking': 'Looking whether the app is on this phone.',
  'kept.no_signal': 'The signal broke off. It goes on by itself.',
  'kept.server': 'The server answered with a fault. It is tried again by itself.',
  'kept.phone_full': 'The phone has no room left for the app. Free some space, then try again.',
  'kept.new_release': 'The server has a newer app now. It is fetched by itself.',
  'kept.damaged': 'A part of the app did not arrive whole. It is fetched again by itself.',
  'kept.again': 'Try again now',
  'kept.not_secure':
    'This address is not secure (http), so the browser does not keep the app. Without the server it does not open.',
  'kept.not_secure_do': 'Open Fallbook by its https address. Ask the office for it.',
  'kept.no_worker':
    'This browser does not keep the app: perhaps it is a private window. Without the server it does not open.',
  'kept.no_worker_do': 'Open this address in an ordinary window of Chrome, Edge, Firefox or Safari.',

  'away.looking': 'This job is not on this phone. Looking on the server.',
  'away.on_server': '“{title}” is on the server, not on this phone. Take it to work on it here.',
  'away.listed':
    '“{title}” is on the server, not on this phone. The server cannot be reached: take it when there is a signal.',
  'away.offline':
    'This job is not on this phone, and the server cannot be reached. Try again when there is a signal.',
  'away.nowhere':
    'This job is neither on this phone nor on the server. The phone that made it may not have sent it yet, or this phone may not see it.',
  'jobs.take_later': 'The server cannot be reached. It comes by itself when the server can be reached.',

  'photos_here.count': '{here} of {photos} on this phone',
  'photos_here.tag': '{here} of {photos} here',
  'photos_here.fetching': 'Fetching: {size}',
  'photos_here.progress': 'Fetching the photos',
  'photos_here.coming': 'On the server, and coming by themselves: {photos}, {size}.',
  'photos_here.ask': 'Only on the server: {photos}, {size}.',
  'photos_here.metered': 'This phone is on mobile data.',
  'photos_here.why': 'What is left there cannot be seen with no signal.',
  'photos_here.left':
    'Left on the server: {photos}, {size}. What is left there cannot be seen with no signal.',
  'photos_here.wait': 'Waiting for a link that is not metered, as you set it: {photos}, {size}.',
  'photos_here.absent': 'Not on the server yet: {photos}. The phone that took a photo sends it.',
  'photos_here.no_room':
    'This phone has room for {free}, and the photos need {need}. Free some space, then try again.',
  'photos_here.full': 'This phone has no room left for the photos. Free some space, then try again.',
  'photos_here.damaged':
    'Came with another content and not kept: {photos}. The server may hold a damaged copy.',
  'photos_here.take': 'Take the photos',
  'photos_here.leave': 'Leave them there',
  'photo.not_here': 'Not on this phone',

  'office.title': 'Office',
  'office.away': 'The server cannot be reached, and the office is a page of the server.',
  'office.here': 'What was recorded on this phone is still here, under Jobs.'
};
