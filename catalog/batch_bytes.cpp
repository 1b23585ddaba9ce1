// SPDX-License-Identifier: Apache-2.0
#include "catalog/batch_bytes.h"

#include "mesh/bad_input.h"

namespace holdshelf {

std::string batchBytes(const Batch& batch, std::size_t most) {
  const std::size_t size = batch.ByteSizeLong();
  if (size > most)
    throw BadInput("What is to be stored at once comes to " + std::to_string(size >> 20) +
                   " MiB of events, of which " + std::to_string(most >> 20) +
                   " fit into one commit, and nothing was stored: bring in fewer holds at a time.");
  return batch.SerializeAsString();
}

}  // namespace holdshelf
