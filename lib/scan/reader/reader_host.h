#pragma once

#include <functional>

#include "reader_channel.h"

namespace anfract {

/// What a reading process does: take the request from `call`, put voxels into `memory_file`, reply.
using ReaderWork = std::function<void(int call, int memory_file)>;

/// Waits for calls on the control socket and answers each in a child of its own, inside the
/// sandbox.
///
/// The child starts as a copy of this process, which has one thread and holds what is costly to set
/// up (libraries, DICOM dictionary, codecs) but has never seen an input. When the child ends, its
/// wait status goes to the caller; when the caller closes its end of that pipe, the child is
/// killed. Returns when the control socket is closed.
int run_reader_host(int control, const ReaderWork& work);

}  // namespace anfract
