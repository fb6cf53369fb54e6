#include "memory_file.h"

#include <sys/mman.h>
#include <unistd.h>

#include <new>

namespace anfract {

MappedMemoryFile::MappedMemoryFile(int fd, std::size_t count)
    : bytes_(count * sizeof(std::int16_t)) {
    if (::ftruncate(fd, off_t(bytes_)) != 0) throw std::bad_alloc();
    void* const place = ::mmap(nullptr, bytes_, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
    if (place == MAP_FAILED) throw std::bad_alloc();
    voxels_ = static_cast<std::int16_t*>(place);
}

MappedMemoryFile::~MappedMemoryFile() { ::munmap(voxels_, bytes_); }

}  // namespace anfract
