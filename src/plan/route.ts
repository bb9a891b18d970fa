export { walkingOrder, walkLengthM } from '../design/route.ts';
