"""Times a piece of work: the least wall and processor time of some runs, in seconds."""

import time


def least(times, work):
    wall, cpu = [], []
    for _ in range(times):
        start, used = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        cpu.append(time.process_time() - used)
    print(f"{min(wall):.6f} {min(cpu):.6f}")
