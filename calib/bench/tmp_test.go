package bench
import ("testing";"context";"lagwright/calib/practice";"lagwright/calib/signal";"lagwright/calib/session")
func TestTmp(t *testing.T){
 for _,name:=range []string{"clunk","bounces","clean","clatter","leak","tray"}{
 for _,tr:=range practice.Traps(){ if tr.Name!=name {continue}
  for seed:=uint64(1);seed<=8;seed++{ m,p:=tr.Make(seed); rec,truth:=m.Play(p)
   r,_:=signal.Measure(context.Background(),rec,signal.Options{PerBeat:p.PerBeat})
   tk:=session.Take{Reading:r,Reference:1,Voice:2}
   o,ok:=OtherSound(tk)
   if !ok { t.Log(name,seed,"none", r.Used(), r.Rejected(), r.LagMS, truth.MeanLagMS); continue }
   tk.Edit(o.edits(tk)...)
   r2:=reread(tk,p.PerBeat)
   tk.Reading=r2
   o2,ok2:=OtherSound(tk)
   t.Log(name,seed,o,len(o.hitsS),"was",r.Used(),r.LagMS,"now",r2.Used(),r2.LagMS, r.ReferencePeriodMS, "then", o2, ok2)
  }}}
}
