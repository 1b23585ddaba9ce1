// SPDX-License-Identifier: Apache-2.0
// EXIF blocks written by libexif, for photos that tests make.
#pragma once
#include <libexif/exif-data.h>

#include <cstdlib>
#include <vector>

namespace holdshelf::scene {

using Bytes = std::vector<unsigned char>;

inline void addShort(ExifData* data, ExifIfd ifd, ExifTag tag, ExifShort value) {
  ExifEntry* entry = exif_entry_new();
  exif_content_add_entry(data->ifd[ifd], entry);
  exif_entry_initialize(entry, tag);
  if (!entry->data) {
    entry->format = EXIF_FORMAT_SHORT;
    entry->components = 1;
    entry->size = 2;
    entry->data = static_cast<unsigned char*>(calloc(1, 2));
  }
  exif_set_short(entry->data, exif_data_get_byte_order(data), value);
  exif_entry_unref(entry);
}

/// An EXIF block as libexif writes it: "Exif\0\0" and a TIFF tree.
inline Bytes exifBlock(int orientation, int focal_35mm) {
  ExifData* data = exif_data_new();
  exif_data_set_byte_order(data, EXIF_BYTE_ORDER_INTEL);
  addShort(data, EXIF_IFD_0, EXIF_TAG_ORIENTATION, static_cast<ExifShort>(orientation));
  if (focal_35mm)
    addShort(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM,
             static_cast<ExifShort>(focal_35mm));
  unsigned char* raw = nullptr;
  unsigned size = 0;
  exif_data_save_data(data, &raw, &size);
  Bytes block(raw, raw + size);
  free(raw);
  exif_data_unref(data);
  return block;
}

/// A JPEG with the block as its APP1 segment right after the start.
inline Bytes jpegWith(Bytes out, const Bytes& block) {
  const size_t length = block.size() + 2;
  Bytes segment = {0xff, 0xe1, static_cast<unsigned char>(length >> 8),
                   static_cast<unsigned char>(length & 255)};
  segment.insert(segment.end(), block.begin(), block.end());
  out.insert(out.begin() + 2, segment.begin(), segment.end());
  return out;
}

}  // namespace holdshelf::scene
