#include "anfract/scan/voxels.h"

#include <sys/mman.h>

#include <algorithm>
#include <new>

namespace anfract {
namespace {

std::int16_t* map(std::size_t count, int flags, int fd) {
    if (count == 0) return nullptr;
    if (count > SIZE_MAX / 4) throw std::bad_alloc();
    void* const place =
        ::mmap(nullptr, count * sizeof(std::int16_t), PROT_READ | PROT_WRITE, flags, fd, 0);
    if (place == MAP_FAILED) throw std::bad_alloc();
    return static_cast<std::int16_t*>(place);
}

}  // namespace

Voxels::Voxels(std::size_t count)
    : data_(map(count, MAP_PRIVATE | MAP_ANONYMOUS, -1)), count_(count) {
    // Taking 128 MB in pages of 4 kB costs more time than reading the files. Only advice: a refusal
    // changes nothing but the speed.
    if (count > 0) (void)::madvise(data_, count * sizeof(std::int16_t), MADV_HUGEPAGE);
}

Voxels::Voxels(const std::vector<std::int16_t>& of) : Voxels(of.size()) {
    std::copy(of.begin(), of.end(), data_);
}

Voxels::Voxels(const Voxels& other) : Voxels(other.count_) {
    std::copy(other.begin(), other.end(), data_);
}

Voxels::~Voxels() {
    if (count_ > 0) ::munmap(data_, count_ * sizeof(std::int16_t));
}

Voxels Voxels::of_memory_file(int fd, std::size_t count) {
    Voxels view;
    view.data_ = map(count, MAP_PRIVATE, fd);
    view.count_ = count;
    return view;
}

bool operator==(const Voxels& a, const Voxels& b) {
    return a.count_ == b.count_ && std::equal(a.begin(), a.end(), b.begin());
}

}  // namespace anfract
