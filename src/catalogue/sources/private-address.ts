import { BlockList, isIPv4, isIPv6 } from 'node:net';

// IANA IPv4 and IPv6 Special-Purpose Address Registries (RFC 6890 and what was added since): not globally reachable.
const four: readonly (readonly [string, number])[] = [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.0.2.0', 24],
  ['192.88.99.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['198.51.100.0', 24],
  ['203.0.113.0', 24],
  ['224.0.0.0', 4],
  ['240.0.0.0', 4],
];
// Of IPv6 only 2000::/3 is for the open net; inside it, what is not, or hides an IPv4 address (Teredo, 6to4).
const sixOpen = new BlockList();
sixOpen.addSubnet('2000::', 3, 'ipv6');
const sixClosed = new BlockList();
for (const [net, bits] of [
  ['2001::', 23],
  ['2001:db8::', 32],
  ['2002::', 16],
  ['3fff::', 20],
] as const)
  sixClosed.addSubnet(net, bits, 'ipv6');
const fourClosed = new BlockList();
for (const [net, bits] of four) fourClosed.addSubnet(net, bits, 'ipv4');

/** Whether an IP address lies outside the open net: this machine, a local network, or nowhere. What is no address counts as one. */
export function isPrivateAddress(address: string): boolean {
  const plain = address.replace(/^\[|\]$/g, '').replace(/%.*$/, '');
  if (isIPv4(plain)) return fourClosed.check(plain, 'ipv4');
  if (!isIPv6(plain)) return true;
  return !sixOpen.check(plain, 'ipv6') || sixClosed.check(plain, 'ipv6');
}
