// SPDX-License-Identifier: Apache-2.0
// A JPEG that takes long to decode for its size.
#pragma once
#include <vector>

namespace holdshelf::scene {

/// A sound progressive JPEG of 8 x 8 grey pixels in so many scans, each of one byte (ISO/IEC
/// 10918-1, B.2 and annex G): after the mean, one bit of one coefficient a scan. At most 883.
inline std::vector<unsigned char> jpegInScans(int scans) {
  using Segment = std::vector<unsigned char>;
  Segment out = {0xff, 0xd8};
  const auto add = [&](unsigned char marker, const Segment& body) {
    const auto length = static_cast<unsigned char>(body.size() + 2);
    out.insert(out.end(), {0xff, marker, 0, length});
    out.insert(out.end(), body.begin(), body.end());
  };
  const auto addScan = [&](int coefficient, int bit_before, int bit) {
    add(0xda,
        {1, 1, 0, static_cast<unsigned char>(coefficient), static_cast<unsigned char>(coefficient),
         static_cast<unsigned char>(bit_before << 4 | bit)});
    out.push_back(0x7f);  // The one code there is, which says that nothing comes, and ones.
  };
  Segment quantisers(65, 1);
  quantisers[0] = 0;
  add(0xdb, quantisers);
  add(0xc2, {8, 0, 8, 0, 8, 1, 1, 0x11, 0});
  for (const unsigned char table : {0x00, 0x10}) {
    Segment one_code(18,
                     0);  // Of one bit, for the value 0: no difference, or the end of the block.
    one_code[0] = table;
    one_code[1] = 1;
    add(0xc4, one_code);
  }
  addScan(0, 0, 0);
  constexpr int kHighestBit = 13;
  int done = 1;
  for (int bit = kHighestBit; bit >= 0; --bit)
    for (int coefficient = 1; coefficient < 64 && done < scans; ++coefficient, ++done)
      addScan(coefficient, bit == kHighestBit ? 0 : bit + 1, bit);
  out.insert(out.end(), {0xff, 0xd9});
  return out;
}

}  // namespace holdshelf::scene
