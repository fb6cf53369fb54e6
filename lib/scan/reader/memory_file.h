#pragma once

#include <cstddef>
#include <cstdint>

namespace anfract {

/// A memory file made large enough for some voxels and mapped for writing; unmapped on the way out.
class MappedMemoryFile {
  public:
    /// Throws std::bad_alloc when there is not enough memory.
    MappedMemoryFile(int fd, std::size_t count);
    MappedMemoryFile(const MappedMemoryFile&) = delete;
    MappedMemoryFile& operator=(const MappedMemoryFile&) = delete;
    ~MappedMemoryFile();

    std::int16_t* voxels() const { return voxels_; }

  private:
    std::int16_t* voxels_ = nullptr;
    std::size_t bytes_ = 0;
};

}  // namespace anfract
