package plan
import "fmt"
func Dbg(m Machine){ for i:=range m.ways{ w:=&m.ways[i]; if m.weight[i]<0.005{break}; fmt.Printf("   way %.3f off %d f %.5f chi %.1f/%d %s:",m.weight[i],w.offset,w.step(),w.chiSquared(),w.seen,w.model.fault); for f:=w.faults;f!=nil;f=f.before{fmt.Printf(" %s@%d(%d)",f.kind,f.take,f.steps)}; fmt.Println() } }
