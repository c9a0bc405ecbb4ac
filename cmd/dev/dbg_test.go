package main
import ("testing";"fmt";"os";"strconv";"lagwright/calib";"lagwright/calib/plan";"math")
func TestDbg(t *testing.T){
 n,_:=strconv.Atoi(os.Getenv("DBG"))
 learnt:=os.Getenv("LEARNT")!=""
 v:=os.Getenv("V")!=""
 lo,hi:=0,n
 if o:=os.Getenv("ONE");o!=""{lo,_=strconv.Atoi(o);hi=lo+1}
 var sumC,sumI,cnt float64
 for i:=lo;i<hi;i++{
  m:=newStudyMachine(1,uint64(i),false)
  known := plan.Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{})}
  if !learnt { known.Prior.Step=calib.Belief{Mean:m.step} }
  var songs []plan.Song
  for _,b:=range studyTempos(){songs=append(songs,plan.Song{TempoBPM:b})}
  var takes []plan.Take
  at:=plan.Place{}
  if v {fmt.Printf("machine %d D %.1f A %.4f N %.0f j %.2f\n",i,m.delayMS,m.offset,1/m.step,m.jitterMS)}
  for {
   mm,err:=plan.Fit(known,takes); if err!=nil{t.Fatal(err)}
   p:=mm.Make(songs,plan.Bench{At:at})
   if v { plan.Dbg(mm); for _,s:=range p.Songs{ fmt.Printf("   %v:%d c%.3f/%.3f (%.1f±%.1f/%.1f)",s.Song.TempoBPM,s.Steps,s.Chance,s.Near,s.Parts[0].LagMS,s.Parts[0].SDMS,s.LimitMS)}; fmt.Println()}
   if p.Next==nil||m.takes>=40 {
     for k,s:=range p.Songs{ P:=calib.PeriodMS(songs[k].TempoBPM); in:=math.Abs(m.lag(P,s.Steps+m.setting-m.told))<=m.limit(P); sumC+=s.Chance; cnt++; if in{sumI++}}
     break}
   at=at.To(p.Next.Setting); m.turn(at.Setting)
   r:=m.play(p.Next.TempoBPM); h,_:=plan.Hear(0,r)
   if v {fmt.Printf(" take %d: %v BPM at %d (true %d): lag %.1f sd? %.2f slip %d\n",m.takes,p.Next.TempoBPM,at.Setting,m.setting,h.LagMS,h.ScatterMS,m.setting-m.told)}
   takes=append(takes,plan.Take{Setting:at.Setting,Came:at.Came,Heard:[]plan.Heard{h}})
  }
  if m.takes>=10 {fmt.Printf("machine %d: %d takes D %.1f A %.4f N %.0f j %.2f\n",i,m.takes,m.delayMS,m.offset,1/m.step,m.jitterMS)}
 }
 fmt.Printf("mean chance %.4f inside %.4f\n",sumC/cnt,sumI/cnt)
}
